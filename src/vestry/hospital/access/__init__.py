"""Who may do what. Deny is the default: what the table does not allow is refused, and a page without a door is an error."""
