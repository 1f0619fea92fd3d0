"""afterpull: timed work after the honey supers come off, planned and explained."""

__version__ = "0.1.0"
