"""Settings of the site. Everything that differs between labs comes from the environment."""

import os
import sys
from contextlib import suppress
from pathlib import Path
from urllib.parse import urlsplit

from csp.constants import NONE, SELF
from django.core.management.utils import get_random_secret_key

from labstock import environment

BASE_DIR = Path(__file__).resolve().parent.parent

# Where the lab's data lies: the database, photographs, the reference file.
DATA_DIR = environment.folder("LABSTOCK_DATA", BASE_DIR / "var")
REFERENCE_FILE = DATA_DIR / "reference.sqlite3"
MEDIA_ROOT = DATA_DIR / "photos"

DEBUG = environment.flag("LABSTOCK_DEBUG", False)
PUBLIC_URL = environment.web_address("LABSTOCK_PUBLIC_URL", "http://127.0.0.1:8000")
IS_PUBLIC = PUBLIC_URL.startswith("https://")
BEHIND_PROXY = environment.flag("LABSTOCK_BEHIND_PROXY", False)

# What the labels on the shelf begin with, and how the lab is called on every page.
LABSTOCK_CODE_PREFIX = environment.lab_letters("LABSTOCK_CODE_PREFIX", "TQ")
LABSTOCK_LAB_NAME = environment.text("LABSTOCK_LAB_NAME", "Tern Quay")
LABSTOCK_LAB_SUBTITLE = environment.text("LABSTOCK_LAB_SUBTITLE", "Shared Synthesis Laboratory")
LABSTOCK_EMERGENCY_WORDS = environment.text("LABSTOCK_EMERGENCY_WORDS", "ring the safety officer")


def kept_secret() -> str:
    """Read the key that signs sessions; the first start makes one and keeps it beside the data."""
    given = environment.secret("LABSTOCK_SECRET_KEY")
    if given:
        return given
    path = DATA_DIR / "secret.key"
    if not path.exists():
        # written aside and linked into place: of two processes that start at once, both read the same whole key
        aside = path.with_suffix(f".{os.getpid()}")
        aside.touch(mode=0o600)
        aside.write_text(get_random_secret_key())
        with suppress(FileExistsError):
            path.hardlink_to(aside)
        aside.unlink()
    return path.read_text().strip()


SECRET_KEY = kept_secret()
LOCAL_HOSTS = ["127.0.0.1", "localhost", "[::1]"]
ALLOWED_HOSTS = environment.host_names("LABSTOCK_HOSTS") or [*LOCAL_HOSTS, str(urlsplit(PUBLIC_URL).hostname)]
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL]

INSTALLED_APPS = [
    "labstock.look.apps.LookConfig",
    "labstock.people.apps.PeopleConfig",
    "labstock.stock.apps.StockConfig",
    "labstock.labels.apps.LabelsConfig",
    "batches.apps.BatchesConfig",
    "batches.retained.apps.RetainedConfig",
    "labstock.bench.apps.BenchConfig",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django.forms",
    "django_filters",
    "django_tables2",
    "axes",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    # a page of 70 kB is 14 on the way to a phone; Django pads each answer, so that its length betrays no secret in it
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "labstock.people.tablet.TabletMiddleware",
    "labstock.permissions.PermissionsPolicyMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "labstock.urls"
WSGI_APPLICATION = "labstock.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "labstock.look.context.lab",
                "labstock.people.context.may",
                "labstock.people.context.shared_tablet",
            ],
            "builtins": ["labstock.look.templatetags.look"],
        },
    }
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"

# SQLite needs no server. WAL lets people read while one writes; FULL survives a power cut;
# IMMEDIATE takes the write lock at BEGIN, without which forty writers see "database is locked".
SQLITE_OPTIONS = {
    "timeout": 20,
    "transaction_mode": "IMMEDIATE",
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;"
    " PRAGMA temp_store=MEMORY; PRAGMA mmap_size=268435456; PRAGMA cache_size=-65536;"
    " PRAGMA journal_size_limit=67108864;",
}


# Without DATABASE_URL the data folder holds an SQLite file.
EMBEDDED = {"ENGINE": "django.db.backends.sqlite3", "NAME": DATA_DIR / "labstock.sqlite3"}
DATABASES: dict[str, dict[str, object]] = {
    "default": {"ATOMIC_REQUESTS": False, **(environment.database("DATABASE_URL") or EMBEDDED)}
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["OPTIONS"] = SQLITE_OPTIONS
DATABASES["default"]["CONN_MAX_AGE"] = None
# a connection that a restart of the server cut is noticed and made anew before it is used
DATABASES["default"]["CONN_HEALTH_CHECKS"] = True
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "people.User"
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "front"
LOGOUT_REDIRECT_URL = "login"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
# Ten wrong passwords for one name from one address close that pair for a quarter of an hour.
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_LOCKOUT_CALLABLE = "labstock.people.throttle.locked_out"
AXES_CLIENT_IP_CALLABLE = "labstock.people.throttle.client_address"
AXES_RESET_COOL_OFF_ON_FAILURE_DURING_LOCKOUT = False  # what the page says is how long it takes
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False

LANGUAGE_CODE = "en-gb"
TIME_ZONE = environment.time_zone("LABSTOCK_TIME_ZONE", "UTC")
USE_I18N = False
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir(exist_ok=True)
MEDIA_URL = "photos/"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "labstock.look.style_sheets.JoinedStaticFilesStorage"},
}
TESTING = "pytest" in sys.modules
if DEBUG or TESTING:
    STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "style-src": [SELF],
        "script-src": [SELF],
        "img-src": [SELF, "data:", "blob:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "manifest-src": [SELF],
        "frame-ancestors": [NONE],
        "base-uri": [NONE],
    }
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_AGE = 12 * 60 * 60
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = IS_PUBLIC
SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60 if IS_PUBLIC else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = IS_PUBLIC
if BEHIND_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

DATA_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 1100  # a thousand labels ticked, and the rest of their form
FILE_UPLOAD_MAX_MEMORY_SIZE = 2 * 1024 * 1024
DJANGO_TABLES2_TEMPLATE = "look/table.html"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"plain": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
