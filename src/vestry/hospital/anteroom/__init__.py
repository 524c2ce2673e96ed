"""The anteroom: one entry led step by step on the tablet, and the screen of the wearer."""
