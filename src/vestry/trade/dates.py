"""Months as a register counts them: the same day of a later month, or that month's last."""

from __future__ import annotations

import calendar
import datetime
from functools import lru_cache


@lru_cache(maxsize=20_000)  # asked for everything that everybody holds, for each procedure and part again
def months_after(day: datetime.date, months: int) -> datetime.date:
    """31 January and one month is the last day of February. The last day on which what is dated so holds."""
    count = day.year * 12 + day.month - 1 + months
    year, month = divmod(count, 12)
    return datetime.date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def day_after(day: datetime.date) -> datetime.date:
    """The next day. 31 December 9999, with which lists from elsewhere say `never`, is the last there is, and stays."""
    return day if day == datetime.date.max else day + datetime.timedelta(days=1)
