"""Who may do what. Deny is the default: a page without a door is an error."""
