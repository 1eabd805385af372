"""What the fitted chances mean for one operator: weeks to take off, hours to sit down, places, skeds."""
