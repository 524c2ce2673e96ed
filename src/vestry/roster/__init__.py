"""Who does what when: coverage by shift, gaps with the smallest change that would close them, and a proposal."""

from vestry.roster.closing import changed
from vestry.roster.found import Roster
from vestry.roster.keeping import Act, Kept, kept, troubles_of
from vestry.roster.proposing import as_it_is, laid_out, propose
from vestry.roster.reading_rota import checked, read_rota
from vestry.roster.replaying import breaches
from vestry.roster.rota import Rota

__all__ = [
    "Act",
    "Kept",
    "Roster",
    "Rota",
    "as_it_is",
    "breaches",
    "changed",
    "checked",
    "kept",
    "laid_out",
    "propose",
    "read_rota",
    "troubles_of",
]
