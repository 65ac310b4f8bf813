"""Vanewise: from "the attitude indicator tumbled" to the source, the rebuild, the proof and the record.

For aircraft whose attitude and heading gyros run on air from an engine-driven dry pump.
Open ``pipeline.py`` first: it is one page that runs the ten stages in order.
"""

__version__ = "0.1.0"
