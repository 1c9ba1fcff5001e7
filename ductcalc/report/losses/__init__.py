"""Reports of `losses`."""
