"""Which diameters: all stretches chosen together so that every wanted set is fine at the least cost."""
