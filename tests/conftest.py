"""What holds for every test."""

import os

from hypothesis import settings

# A busy machine is slow, not wrong: pytest-timeout bounds each test instead of a deadline.
# CI draws the same cases each time; at the desk every run looks at new ones.
settings.register_profile("desk", deadline=None)
settings.register_profile("ci", deadline=None, derandomize=True)
# The quick checks (./test without --all) draw fewer of them where a test does not say how many.
settings.register_profile("quick", deadline=None, max_examples=25)
settings.load_profile("ci" if os.environ.get("CI") else "quick" if os.environ.get("VESTRY_QUICK") else "desk")
