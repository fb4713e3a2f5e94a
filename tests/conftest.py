"""What every test goes by."""

from hypothesis import settings

settings.register_profile("heelwise", deadline=None)
settings.load_profile("heelwise")
