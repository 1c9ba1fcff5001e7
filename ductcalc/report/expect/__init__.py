"""Reports of `expect`."""
