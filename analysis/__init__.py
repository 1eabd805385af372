"""Seasonbook: a season of VHF reports, turned into when the bands opened and how sure we may be."""

__version__ = "0.1.0"
