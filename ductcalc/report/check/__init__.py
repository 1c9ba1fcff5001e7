"""Reports of `check`."""
