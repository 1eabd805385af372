"""Chances and one operator's wishes into a calendar in local civil time."""
