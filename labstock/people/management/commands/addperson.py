"""Add a person from the command line: how the first steward of a new lab comes in."""

from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError

from labstock.chemistry.errors import LabError
from labstock.people.actions import add_person
from labstock.people.models import User
from labstock.people.roles import Role


class Command(BaseCommand):
    """`manage.py addperson wren "Wren Halloran" --role steward`."""

    help = "Add a person. Without --ask-password one is made and printed once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Ask for what a person is."""
        parser.add_argument("username", help="log-in name")
        parser.add_argument("name", help="full name, such as 'Wren Halloran'")
        parser.add_argument("--role", choices=Role.values, default=Role.MEMBER.value)
        parser.add_argument("--group", default="", help="research group; made if it is new")
        parser.add_argument("--ask-password", action="store_true", help="type the password instead")

    def handle(self, *args: Any, **options: Any) -> None:
        """Add the person and print how to log in."""
        try:
            User.username_validator(options["username"])
            first, _, last = options["name"].strip().rpartition(" ")
            person, password = add_person(
                by=None,
                username=options["username"],
                first_name=first or last,
                last_name=last if first else "",
                role=Role(options["role"]),
                new_group=options["group"],
                password=getpass("Password: ") if options["ask_password"] else "",
            )
        except (LabError, ValidationError) as error:
            raise CommandError("; ".join(getattr(error, "messages", [str(error)]))) from error
        said = "the password you typed" if options["ask_password"] else f"password {password}"
        self.stdout.write(
            f"{person} is added as {Role(person.role).label.lower()}: log in as {person.username}, {said}."
        )
