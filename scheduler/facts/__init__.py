"""What a keeper tells: the yard, a harvest, and what happened."""
