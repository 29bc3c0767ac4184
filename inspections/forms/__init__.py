"""What the screens of inspections ask for."""
