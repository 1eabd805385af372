"""The page to read in a browser: whole without a script, safe whatever a log holds."""
