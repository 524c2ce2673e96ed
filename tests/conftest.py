"""What holds for every test."""

import os

from hypothesis import settings

# A busy machine is slow, not wrong: pytest-timeout bounds each test instead of a deadline.
# CI draws the same cases each time; at the desk every run looks at new ones.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "desk")
