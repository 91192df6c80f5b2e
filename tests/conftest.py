"""What holds for every test."""

from hypothesis import settings

# How long an example takes says something of the machine, nothing of the project.
settings.register_profile("project", deadline=None)
settings.load_profile("project")
