"""Tells Django the name of this app."""

from django.apps import AppConfig


class StoreConfig(AppConfig):
    name = "vanewise.store"
    label = "store"
    verbose_name = "Journal and files"
