"""The record: events of entries, appended and never changed."""
