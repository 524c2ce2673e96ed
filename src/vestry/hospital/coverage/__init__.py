"""Who covers what: rotas of the unit, proposals taken or left, changes by hand, calendars."""
