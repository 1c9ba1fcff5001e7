"""Which diameters: sizes that a practitioner would hang, chosen for the whole design together."""
