"""Settings for ``django-admin makemigrations`` only: a database in memory, a key that protects nothing.

``DJANGO_SETTINGS_MODULE=vanewise.store.making_migrations django-admin makemigrations store``
"""

from vanewise.store.settings import settings_for

globals().update(
    settings_for("only for making migrations", {"ENGINE": "django.db.backends.sqlite3", "NAME": ":memory:"})
)
