"""Layout and values to bytes and back: records, images, and the files that carry them."""
