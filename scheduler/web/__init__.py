"""What is served over HTTP: the calendar feeds."""
