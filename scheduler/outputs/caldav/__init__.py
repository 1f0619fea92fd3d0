"""A collection on a calendar server (RFC 4791): read, merged, written."""
