"""The models of an open half-hour: would the listeners have noticed, and how does it change through day and year."""
