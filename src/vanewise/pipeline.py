"""The ten stages in order. Open this first; the jobs call these functions, they are not a drawing.

Each stage takes the former's value and gives its own. Everything is pure: ``today`` and ``seed`` are arguments.
"""
