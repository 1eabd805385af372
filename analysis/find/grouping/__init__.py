"""Which reports make one opening: near in place and time, how wide, how censored, how surely closed."""
