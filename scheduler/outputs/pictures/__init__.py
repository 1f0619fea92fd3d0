"""What was measured, as pictures."""
