"""Plans of the bundled examples as they were last looked at, byte for byte."""
