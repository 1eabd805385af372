"""Half-hours and opening days into curves, tests and chances, each with interval, n and verdict."""
