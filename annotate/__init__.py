"""What people say of a recording: the archive, the grid, verification, phrase usage, tables from elsewhere."""
