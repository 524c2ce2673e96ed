"""The product's settings, and one page more."""

from vestry.hospital.settings import *  # noqa: F403
from vestry.hospital.settings import INSTALLED_APPS as THEIRS

INSTALLED_APPS = [*THEIRS, "bench.bare"]
ROOT_URLCONF = "bench.bare.urls"
