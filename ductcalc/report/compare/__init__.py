"""Reports of `compare`."""
