"""How long and how much: pure functions on SI numbers, one file for each phenomenon."""
