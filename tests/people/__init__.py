"""Work of several people in one yard."""
