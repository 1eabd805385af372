"""Finished tables into pictures and words."""
