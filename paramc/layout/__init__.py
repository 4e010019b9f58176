"""Where everything lies in the memory, and what each stored bit means."""
