"""Keeping and letting go: policies, legal holds, and removals that two people decide. Nothing goes by default."""
