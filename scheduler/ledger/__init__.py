"""What is kept: facts, append-only; what was published; which alerts were sent. Clock and environment are arguments."""
