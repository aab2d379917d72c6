"""What the rows of the log teach. Everything is computed from them at every start; nothing is stored."""
