"""Screens of inspections: thin."""
