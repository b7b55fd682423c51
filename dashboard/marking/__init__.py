"""What the marking panel asks of the server: what is marked, changing it, counting, undo and history."""
