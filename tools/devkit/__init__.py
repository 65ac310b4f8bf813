"""What ``dev.py`` is made of: set-up of the working environment, and the commands a developer or a first user runs.

Standard library only, for it runs before anything is installed.
"""
