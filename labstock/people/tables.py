"""The list of people."""

import django_filters
import django_tables2 as tables
from django.db.models import Q, QuerySet

from labstock.people.models import User
from labstock.people.roles import Role


class PersonFilter(django_filters.FilterSet):
    """Narrow by name, role, and whether the person may log in."""

    q = django_filters.CharFilter(method="by_name", label="Name")
    role = django_filters.ChoiceFilter(choices=Role.choices, empty_label="any role")
    is_active = django_filters.ChoiceFilter(
        choices=[("True", "may log in"), ("False", "has left")], label="Log-in", empty_label="either"
    )

    class Meta:
        model = User
        fields = ["q", "role", "is_active"]

    def by_name(self, people: QuerySet[User], name: str, value: str) -> QuerySet[User]:
        """Find a part of either name or of the log-in name."""
        return people.filter(
            Q(first_name__icontains=value) | Q(last_name__icontains=value) | Q(username__icontains=value)
        )


class PersonTable(tables.Table):
    """Who is who, and who may do what."""

    caption = "People"
    name = tables.TemplateColumn(
        '<a href="{% url "person" record.pk %}">{{ record }}</a>',
        order_by=("last_name", "first_name", "username"),
    )
    username = tables.Column(verbose_name="Log-in name")
    role = tables.Column()
    group = tables.Column(default="none")
    is_active = tables.Column(verbose_name="Log-in")
    last_login = tables.TemplateColumn(
        "{% if record.last_login %}{{ record.last_login|moment }}{% else %}never{% endif %}",
        verbose_name="Last log-in",
    )

    class Meta:
        model = User
        fields = ["name", "username", "role", "group", "is_active", "last_login"]
        order_by = "name"
        empty_text = "Nobody matches"

    def render_is_active(self, value: bool) -> str:
        """Say it in words."""
        return "open" if value else "closed: has left"
