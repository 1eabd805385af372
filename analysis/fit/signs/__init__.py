"""May a sign be believed? Leads, ladders, indicators and forecasts against what chance and the calendar give."""
