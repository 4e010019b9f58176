"""From a layout to what other tools and people take: C, schema, vectors, depfile."""
