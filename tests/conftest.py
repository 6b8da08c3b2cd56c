from hypothesis import settings

# The machine's speed is no property of the code, and a red build must be red again tomorrow.
settings.register_profile("house", deadline=None, derandomize=True)
settings.load_profile("house")
