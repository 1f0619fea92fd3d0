"""MeasuredFile files of every form, read or refused."""
