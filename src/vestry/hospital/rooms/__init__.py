"""Rooms on the desk: register, checks, air, disinfectant, waste on hold, turning around."""
