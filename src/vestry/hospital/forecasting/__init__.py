"""The forecast of a stay at the desk: the form with its defaults, the answer, paper and file."""
