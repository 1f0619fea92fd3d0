"""What a person reads in a terminal."""
