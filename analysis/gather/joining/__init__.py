"""Several files as one table: each contact once, doubts marked, nothing lost."""
