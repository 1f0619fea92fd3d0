"""Estimates held against published numbers, other libraries and an independent solution."""
