"""Settings of the whole suite.

Property tests draw the same examples every run, so that a change is judged by what it changed. To look for
new ones: `pytest --hypothesis-profile=wander`.
"""

from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None)
settings.register_profile("wander", max_examples=3000, deadline=None)
settings.load_profile("same")

pytest_plugins = ["tests.cluster"]
