"""What takes seconds and runs beside the pages."""
