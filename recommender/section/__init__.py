"""The printed section: a skin of walls and top and bottom layers round a lattice core."""
