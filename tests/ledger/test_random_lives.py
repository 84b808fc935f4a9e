"""Random lives of a shelf, step by step against a model of a few lines."""

import os
import random

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.ledger.amounts_of_work import IS_LONG
from tests.ledger.lives import Lives

pytestmark = pytest.mark.django_db


def test_every_random_life_agrees_with_the_model():
    number = int(os.environ.get("LEDGER_SEED", random.SystemRandom().randrange(2**32) if IS_LONG else 1934))
    print(f"played with LEDGER_SEED={number}; the same number plays the same lives again")
    lives = settings(
        max_examples=150 if IS_LONG else 12,
        stateful_step_count=50 if IS_LONG else 45,
        deadline=None,
        database=None,
        print_blob=True,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.generate, Phase.shrink],
    )
    run_state_machine_as_test(seed(number)(Lives), settings=lives)
