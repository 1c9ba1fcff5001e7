"""Pictures: their geometry is worked out once (`schematic.py`, `chart.py`), each form only paints it."""
