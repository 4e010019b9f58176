"""From what was written to what it means: Module -> Product, with everything that is wrong on the way."""
