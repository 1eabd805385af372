"""What a user knows beside the reports: noted forecasts, the weather of the day, soundings, the ground around."""
