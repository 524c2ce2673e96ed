"""Shoes, boots, foot covers."""

from __future__ import annotations

from vestry.figure import palette as c
from vestry.figure.pieces import Piece, Pieces
from vestry.figure.stage import Stage

_SHOE = "M252.5,862 C254,876 252,886 250.5,894 L327,894 C322,885 316,876 310,862 C292,857 270,857 252.5,862 Z"
_SHOE_SOLE = "M250.5,894 C249,905 253,911 262,911 L317,911 C326,911 330,905 327,894 L250.5,894 Z"
_SHOE_BACK = "M252.5,860 C254,874 256,886 256.5,894 L315.5,894 C313,884 312,872 310,860 C292,855 272,855 252.5,860 Z"
_SHOE_BACK_SOLE = "M256.5,894 C256,906 260,911 268,911 L305,911 C313,911 317,906 315.5,894 L256.5,894 Z"

_BOOT_SHAFT = (
    "M246,740 C264,746 298,746 315,739 C313,780 310,818 311.6,855 C296,865 268,866 250.8,857 C248,816 247,778 246,740 Z"
)
_BOOT = "M250.8,857 C268,866 296,865 311.6,855 C314,870 324,880 328,890 L247.5,890 C250,880 251.6,870 250.8,857 Z"
_BOOT_SOLE = "M247.5,890 C245,905 249,912 260,912 L317,912 C328,912 332,905 328,890 L247.5,890 Z"
_BOOT_BACK = "M250.8,857 C268,866 296,865 311.6,855 C313,868 317,880 318,890 L252.5,890 C252,878 251.6,870 250.8,857 Z"
_BOOT_BACK_SOLE = "M252.5,890 C251,906 255,912 265,912 L307,912 C317,912 320,906 318,890 L252.5,890 Z"

_HIGH_SHAFT = (
    "M243,750 C262,756 300,756 319,749 C316,786 313,820 314.6,855 C296,865 268,865 249.8,857 C246,818 245,782 243,750 Z"
)
_HIGH = "M249.8,857 C268,865 296,865 314.6,855 C318,870 327,881 330,893 L246.8,893 C250,882 250.6,870 249.8,857 Z"
_HIGH_SOLE = "M246.8,893 C245,906 249,912.5 260,912.5 L317,912.5 C328,912.5 333,906 330,893 L246.8,893 Z"
_HIGH_BACK = "M249.8,857 C268,865 296,865 314.6,855 C316,868 319,881 319,893 L252.5,893 C252,881 251,870 249.8,857 Z"
_HIGH_BACK_SOLE = "M252.5,893 C251.5,907 256,912.5 266,912.5 L306,912.5 C316,912.5 320,907 319,893 L252.5,893 Z"

_LOW = "M251,852 C266,858 296,858 312,851 C317,868 326,880 330,893 L246.8,893 C250,880 252,866 251,852 Z"
_LOW_BACK = "M251,850 C266,856 296,856 312,849 C315,866 318,880 319,893 L252.5,893 C253,880 251,866 251,850 Z"


def shoes(stage: Stage, item: str) -> Pieces:
    """Closed washable clogs."""
    upper, sole = (_SHOE, _SHOE_SOLE) if stage.front else (_SHOE_BACK, _SHOE_BACK_SOLE)
    lines = "M262,874 C272,880 292,880 301,873" if stage.front else "M281,864 L281,892"
    return (
        Piece(surface=f"{item}.upper", outline=stage.both(upper), fill=c.SHOE, lines=stage.both(lines), margin=4.0),
        Piece(surface=f"{item}.sole", outline=stage.both(sole), fill=c.SOLE, margin=2.0),
    )


def boots(stage: Stage, item: str) -> Pieces:
    """Washable boots to below the knee."""
    upper, sole = (_BOOT, _BOOT_SOLE) if stage.front else (_BOOT_BACK, _BOOT_BACK_SOLE)
    return (
        Piece(
            surface=f"{item}.upper",
            outline=stage.both(upper),
            fill=c.BOOT,
            lines=() if stage.front else stage.both("M282,864 L282,889"),
            margin=4.0,
        ),
        Piece(
            surface=f"{item}.shaft",
            outline=stage.both(_BOOT_SHAFT),
            fill=c.BOOT,
            lines=stage.both("M246.8,751 C264,757 298,757 314,750"),
            folds=stage.both("M262,790 C263,806 262,822 261,834 M301,782 C299,800 299,816 300,828"),
        ),
        Piece(surface=f"{item}.sole", outline=stage.both(sole), fill=c.SOLE, margin=2.0),
    )


def foot_covers(stage: Stage, item: str) -> Pieces:
    """Low covers gathered at the ankle."""
    upper, sole = (_LOW, _HIGH_SOLE) if stage.front else (_LOW_BACK, _HIGH_BACK_SOLE)
    gathers = " ".join(
        f"M{x},{858 + abs(x - 281) * 0.02:.1f} L{x + (x - 281) * 0.1:.1f},868" for x in (260, 270, 281, 292, 302)
    )
    return (
        Piece(
            surface=f"{item}.upper",
            outline=stage.both(upper),
            fill=c.FOOT_COVER,
            lines=stage.both("M251.4,862 C268,868 296,868 314,861"),
            folds=stage.both(gathers),
            margin=4.5,
        ),
        Piece(surface=f"{item}.sole", outline=stage.both(sole), fill=c.FOOT_COVER, margin=2.5),
    )


def boot_covers(stage: Stage, item: str) -> Pieces:
    """High covers to below the knee, gathered at top and ankle."""
    upper, sole = (_HIGH, _HIGH_SOLE) if stage.front else (_HIGH_BACK, _HIGH_BACK_SOLE)
    return (
        Piece(
            surface=f"{item}.upper",
            outline=stage.both(upper),
            fill=c.FOOT_COVER,
            lines=() if stage.front else stage.both("M282,864 L282,892"),
            margin=4.0,
        ),
        Piece(
            surface=f"{item}.shaft",
            outline=stage.both(_HIGH_SHAFT),
            fill=c.FOOT_COVER,
            lines=stage.both("M243.6,760 C262,766 300,766 318,759"),
            folds=stage.both(
                "M266,796 C269,812 269,828 267,842 M298,800 C296,816 296,830 299,844 "
                "M260,764 L261,772 M281,766 L281,775 M302,764 L301,772"
            ),
        ),
        Piece(surface=f"{item}.sole", outline=stage.both(sole), fill=c.FOOT_COVER, margin=2.5),
    )
