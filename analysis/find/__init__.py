"""Tagged spots into openings, listening and half-hours."""
