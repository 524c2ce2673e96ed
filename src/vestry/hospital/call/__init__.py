"""The first hour on the desk: a call, who comes, what is missing, and what a unit looks at before anyone goes in."""
