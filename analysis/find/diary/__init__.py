"""A season day by day: the calendar of half-hours at home, and the days of a log."""
