"""Tables of the store's lists."""
