"""What the columns of a table mean, and what a person is asked about them."""
