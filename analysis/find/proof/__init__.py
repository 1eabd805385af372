"""What proves that somebody was on: receptions and their silences, what is heard through the night, contacts in a row."""
