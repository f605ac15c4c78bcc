"""All settings, in one file. What differs from one house to the next comes from the environment."""

import os
import socket
from pathlib import Path

from config import data_dir, database_url, time_zone

BASE_DIR = Path(__file__).resolve().parent.parent


def env_bool(name: str, default: bool = False) -> bool:
    """Read a switch from the environment; anything but a clear yes is no."""
    value = os.environ.get(name)
    return default if value is None else value.strip().lower() in {"1", "true", "yes", "on"}


def env_list(name: str) -> list[str]:
    """Read words that are parted by commas from the environment."""
    return [word.strip().lower() for word in os.environ.get(name, "").split(",") if word.strip()]


VERSION = "0.1.0"
DATA_DIR = data_dir.current()
BACKUP_DIR = Path(os.environ.get("SCOPULA_BACKUPS") or DATA_DIR / "backups").expanduser()
DEBUG = env_bool("SCOPULA_DEBUG")
CATCH_FAILING_SOURCES = not DEBUG  # one source of the dashboard that fails says so there, and takes nothing else down
SECRET_KEY = data_dir.secret_key(DATA_DIR)

# HostsMiddleware decides, by address or by these names; Django's own list could not follow a changing address.
ALLOWED_HOSTS = ["*"]
MACHINE = socket.gethostname().lower().partition(".")[0]
OUR_HOSTS = {"localhost", MACHINE, f"{MACHINE}.local", *env_list("SCOPULA_HOSTS")}
# The address of a proxy that ends TLS in front of us. Naming it turns on its headers and the secure cookies.
TRUSTED_PROXY = os.environ.get("SCOPULA_PROXY", "")
# `up --https`: this server ends TLS itself, with certificates of its own making.
HTTPS = env_bool("SCOPULA_HTTPS")

INSTALLED_APPS = [
    "config.apps.ConfigApp",
    "config.accounts.apps.AccountsConfig",
    "config.calendars.apps.CalendarsConfig",
    "breeding.apps.BreedingConfig",
    "husbandry.apps.HusbandryConfig",
    "collection.apps.CollectionConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.forms",
    "django_htmx",
    "template_partials.apps.SimpleAppConfig",
    "simple_history",
]

MIDDLEWARE = [
    "config.csp.ContentSecurityPolicyMiddleware",
    "config.hosts.HostsMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.caching.PageCachingMiddleware",
    "django.middleware.gzip.GZipMiddleware",  # pads its answers, so that their length tells nothing of a token
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "config.accounts.middleware.SignedInMiddleware",
    "config.accounts.middleware.RightsMiddleware",
    "config.accounts.middleware.DeviceMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
]

ROOT_URLCONF = "config.urls"
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"  # fields are drawn by templates/django/forms
WSGI_APPLICATION = "config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "OPTIONS": {
            "loaders": [
                (
                    "template_partials.loader.Loader",
                    [
                        (
                            "django.template.loaders.cached.Loader",
                            [
                                "django.template.loaders.filesystem.Loader",
                                "django.template.loaders.app_directories.Loader",
                            ],
                        )
                    ],
                )
            ],
            "builtins": ["template_partials.templatetags.partials", "django_htmx.templatetags.django_htmx"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    }
]

# Why each of these: WAL lets readers and the writer work at once; IMMEDIATE takes the write lock before the first read,
# which is what removes "database is locked"; FULL syncs every commit, so that a power cut takes no feeding with it.
# ATOMIC_REQUESTS stays off: every page would wait for the write lock.
SQLITE = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": DATA_DIR / "scopula.sqlite3",
    "CONN_MAX_AGE": None,
    "OPTIONS": {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": (
            "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; "
            "PRAGMA journal_size_limit=27000000; PRAGMA cache_size=-2000;"
        ),
    },
}
DATABASE_URL = os.environ.get("DATABASE_URL", "")
DATABASES = {"default": database_url.parse(DATABASE_URL) if DATABASE_URL else SQLITE}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

LANGUAGE_CODE = "en-gb"
TIME_ZONE = time_zone.local_name()
USE_I18N = False
USE_TZ = True

STATIC_URL = "/static/"
STATIC_ROOT = BASE_DIR / "static-built"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
MEDIA_ROOT = DATA_DIR / "photos"
FILE_UPLOAD_PERMISSIONS = 0o600
DATA_UPLOAD_MAX_MEMORY_SIZE = 32 * 1024 * 1024  # as much as the server takes
DATA_UPLOAD_MAX_NUMBER_FIELDS = 10_000  # a round of feeding is one form

LOGIN_URL = "accounts:sign-in"
LOGIN_REDIRECT_URL = "/"
CSRF_FAILURE_VIEW = "config.errors.stale_form"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 8}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]

# Ports share cookies: with Django's names, two programs on one machine would sign each other out. Plain http cannot
# replace a secure cookie either, so those under TLS have names of their own, which browsers take from TLS alone.
COOKIE_PREFIX = "__Host-" if HTTPS else ""
SESSION_COOKIE_NAME = f"{COOKIE_PREFIX}scopula_session"
CSRF_COOKIE_NAME = f"{COOKIE_PREFIX}scopula_csrf"
BROWSER_COOKIE_NAME = f"{COOKIE_PREFIX}scopula_browser"
SESSION_COOKIE_AGE = 90 * 24 * 60 * 60
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS or bool(TRUSTED_PROXY)
CSRF_COOKIE_HTTPONLY = True  # forms and the page's own element carry the token
SECURE_REFERRER_POLICY = "same-origin"
# Browsers complain of it on plain http.
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin" if SESSION_COOKIE_SECURE else None

# `check --deploy` supposes a public site behind TLS. This one lives on a home network, over plain http unless a proxy
# is named; secure cookies follow TRUSTED_PROXY, and a host under TLS today may be plain tomorrow.
SILENCED_SYSTEM_CHECKS = [
    "security.W004",  # HSTS would lock a keeper out who takes the proxy away again
    "security.W008",  # redirecting to https is the proxy's to do; without one there is no https
    "security.W012",  # a secure session cookie is dropped on plain http: nobody could sign in
    "security.W016",  # the same for the CSRF cookie
]

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        "django": {"handlers": [], "level": "WARNING", "propagate": True},
        "django.request": {"level": "ERROR"},  # a mistyped address is not worth a line
    },
}
