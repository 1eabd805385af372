"""Pictures of what announces an opening."""
