"""Property tests here are short, but the machine that runs them may be busy: no example is timed."""

from hypothesis import HealthCheck, settings

settings.register_profile("quick", deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("quick")
