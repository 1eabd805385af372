"""Files of any kind into one checked spot table, set-aside rows and an account."""
