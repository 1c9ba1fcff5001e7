"""Pure formulas of air in ducts: SI floats or numpy arrays, numpy alone imported, each with its source."""
