"""Pages of the bank, all for the adults of a school."""
