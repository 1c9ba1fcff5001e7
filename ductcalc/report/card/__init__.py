"""Reports of `card`."""
