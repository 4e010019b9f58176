"""Sources, places in them, and what is said about them."""
