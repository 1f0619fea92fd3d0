"""What is served over HTTP: the calendar feeds, and the page."""
