"""What is kept: facts, append-only; what was published; which alerts were told. Clock and environment are arguments."""
