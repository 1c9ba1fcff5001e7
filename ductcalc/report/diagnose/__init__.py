"""Reports of `diagnose`."""
