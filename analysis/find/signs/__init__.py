"""What announces an opening: which reports came first, what followed, who heard a beacon, what the layer bore."""
