"""The desk: cases planned, plans approved, procedures, records to read."""
