"""May a sign be believed? Leads, rungs, report levels, the next band and beacons' days, held against chance and with intervals."""
