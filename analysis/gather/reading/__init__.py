"""Files into text cells and records, whatever form they have."""
