"""Spot table into the same rows with columns added."""
