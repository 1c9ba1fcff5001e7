"""Reports of `running`."""
