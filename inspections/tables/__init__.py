"""Tables of inspections."""
