from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "labstock.people"
    label = "people"
    verbose_name = "People"
