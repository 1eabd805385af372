"""What one cell of text may mean: values, times of day and dates, kinds of value."""
