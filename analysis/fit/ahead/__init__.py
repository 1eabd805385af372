"""Opening days and what they promise: chances of windows in the next season, checked on left-out seasons."""
