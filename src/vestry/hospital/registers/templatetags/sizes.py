"""How a size is written on a page."""

from __future__ import annotations

from django import template
from django.utils.translation import gettext

register = template.Library()


@register.filter
def size(value: str | None) -> str:
    """`xl` as XL, `one-size` as one size, none as not known."""
    if not value:
        return gettext("not known")
    named = {"one-size": gettext("one size"), "all": gettext("all")}
    return named.get(value) or value.upper()
