"""Speed, as ratios within one run. See README.md in this folder."""
