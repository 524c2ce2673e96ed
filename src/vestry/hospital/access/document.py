"""The table of roles by action and the pages with their doors, as docs/reference/pages-and-roles.md shows them.

python -m vestry.hospital.access.document    prints the page
"""

from __future__ import annotations

from vestry.hospital.access.table import ACTION_NAMES, ANYONE, ENROLLED, ROLE_NAMES, ROLES, SIGNED_IN, TABLE

HEAD = """# Pages and roles

Deny is the default. Each page declares, for each of its methods, the action that it is; what an action needs stands in
one table (`src/vestry/hospital/access/table.py`). A page without a declared action is refused, and the checks at start
fail. A test walks every page with every method, for nobody signed in and for each role, and compares with this table.

Someone may have several roles. A record or an entry that is not yours to see does not exist for you: the answer is 404.

This page is made from the code: `python -m vestry.hospital.access.document`.
"""

TAIL = """
## What the table does not say

- An entry is led by its own observer, or by a shift lead. Its wearer's screen is seen by those in it, or a shift lead.
- Observers and staff members read the records of entries that they were part of; programme lead, shift lead,
  occupational health and auditor read all.
- Failed sign-ins are counted by name and by address: six by name or thirty by address within a quarter of an hour, and
  further ones are refused.
- Where a page is not for the visitor's role, the answer is 403; nobody signed in is sent to the sign-in page first.
  Bad input is 422 and names the field; a body that is too large or cannot be read is 400. Nothing is half stored.
- "A tablet": the request brings the token of an enrolled tablet in its `Authorization` header; being signed in does not
  do instead. A tablet carries an entry only for someone who may lead it and was identified on it by badge and PIN, and
  sends and fetches events only of entries that it carries. Wrong codes, badges and PINs are counted and refused like
  failed sign-ins.
- Where somebody has a second factor, codes or a passkey, the password alone signs nobody in; a role that needs one
  opens no other page until it is set up.
- An account of the hospital's own sign-in lets in whom an administrator linked it to, with their roles and no others.
  It counts as a second factor only where the settings say by which sign of the issuer's.
"""


def document() -> str:
    """The whole page."""
    from vestry.hospital.access.checks import patterns
    from vestry.hospital.access.door import doors_of

    heads = [str(ROLE_NAMES[role]) for role in ROLES]
    lines = [HEAD, "## Roles by action\n", f"| action | {' | '.join(heads)} |", f"|---|{'---|' * len(heads)}"]
    for action, need in TABLE.items():
        if isinstance(need, str):
            cells = [{ANYONE: "anyone", SIGNED_IN: "signed in", ENROLLED: "a tablet"}[need]] * len(heads)
        else:
            cells = ["yes" if role in need else "" for role in ROLES]
        lines.append(f"| {ACTION_NAMES[action]} (`{action}`) | {' | '.join(cells)} |")
    lines += ["\n## Pages\n", "| page | method | action |", "|---|---|---|"]
    for route, pattern in patterns():
        for method, action in (doors_of(pattern.callback) or {}).items():
            shown = route.replace("<uuid:key>", "ID").replace("<slug:name>", "NAME").replace("<int:number>", "NUMBER")
            lines.append(f"| `/{shown}` | {method} | `{action}` |")
    return "\n".join(lines) + "\n" + TAIL


if __name__ == "__main__":
    import os

    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "vestry.hospital.settings")
    django.setup()
    print(document(), end="")
