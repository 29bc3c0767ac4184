"""What the store's screens ask for."""
