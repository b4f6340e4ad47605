"""After the soak: welding, heat treating. Empty until its issue."""
