"""Text into checked values and rows of the spot table."""
