"""Settings. Production is the default; DEBUG and a fixed key are what one has to ask for.

Environment: DATABASE_URL, FETTLEBOOK_SECRET_KEY, FETTLEBOOK_DEBUG=1, FETTLEBOOK_HOSTS (commas),
FETTLEBOOK_HTTPS=0 to serve plain HTTP (a depot's own machine, the demo).
Mail: FETTLEBOOK_MAIL_HOST, _PORT, _USER, _PASSWORD, _TLS (starttls, implicit or none), _FROM, _LINKS (where people
reach the program).
Counter: FETTLEBOOK_UNDO_MINUTES (10), FETTLEBOOK_DOUBLE_SCAN_SECONDS (10).
"""

import os
import secrets
import sys
from pathlib import Path

from kit.database_url import read_database_url
from kit.mail_settings import read_mail_settings

BASE_DIR = Path(__file__).resolve().parent.parent


def _kept_secret_key() -> str:
    """The key in the environment, else one made once and kept beside the code, readable by its owner only."""
    if key := os.environ.get("FETTLEBOOK_SECRET_KEY"):
        return key
    path = BASE_DIR / ".secret_key"
    try:
        return path.read_text(encoding="ascii").strip()
    except FileNotFoundError:
        key = secrets.token_urlsafe(50)
        try:
            descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        except FileExistsError:
            return path.read_text(encoding="ascii").strip()
        except OSError:
            # A read-only checkout: sessions end with the process, which is better than a key in the code.
            return key
        with os.fdopen(descriptor, "w", encoding="ascii") as file:
            file.write(key)
        return key


DEBUG = os.environ.get("FETTLEBOOK_DEBUG") == "1"
TESTING = "pytest" in sys.modules
SECRET_KEY = _kept_secret_key()
ALLOWED_HOSTS = [h for h in os.environ.get("FETTLEBOOK_HOSTS", "").split(",") if h] or [
    "127.0.0.1",
    "localhost",
]
CSRF_TRUSTED_ORIGINS = [o for o in os.environ.get("FETTLEBOOK_ORIGINS", "").split(",") if o]

HTTPS = os.environ.get("FETTLEBOOK_HTTPS", "1") == "1" and not DEBUG and not TESTING
SECURE_SSL_REDIRECT = HTTPS
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS
SECURE_PROXY_SSL_HEADER = (
    ("HTTP_X_FORWARDED_PROTO", "https") if os.environ.get("FETTLEBOOK_PROXY") == "1" else None
)
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 12 * 3600  # one shift
X_FRAME_OPTIONS = "DENY"

INSTALLED_APPS = [
    "kit",
    "inspections",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "django_filters",
    "django_tables2",
    "django_htmx",
    "axes",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "kit.views.compress.CompressText",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "kit.views.desk.DeskMiddleware",
    "axes.middleware.AxesMiddleware",
]

AUTHENTICATION_BACKENDS = ["axes.backends.AxesStandaloneBackend", "django.contrib.auth.backends.ModelBackend"]
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25  # hours
AXES_LOCKOUT_TEMPLATE = "registration/locked.html"
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_ENABLED = not TESTING
AXES_VERBOSE = False

ROOT_URLCONF = "kit.urls"
WSGI_APPLICATION = "kit.wsgi.application"
ASGI_APPLICATION = "kit.asgi.application"
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "login"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "builtins": ["kit.templatetags.sentences"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "django.template.context_processors.i18n",
                "kit.views.desk.desk_context",
            ],
        },
    }
]

DATABASES = {
    "default": read_database_url(os.environ.get("DATABASE_URL", "sqlite:///fettlebook.sqlite3"), BASE_DIR)
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
# How long a link to set a password works, in seconds.
PASSWORD_RESET_TIMEOUT = 24 * 3600

MAIL = read_mail_settings(os.environ)
EMAIL_HOST, EMAIL_PORT = MAIL.host, MAIL.port
EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = MAIL.user, MAIL.password
EMAIL_USE_TLS, EMAIL_USE_SSL = MAIL.tls == "starttls", MAIL.tls == "implicit"
EMAIL_TIMEOUT = 20  # seconds: a server that does not answer must not hold up the others for long
DEFAULT_FROM_EMAIL = MAIL.sender or "fettlebook@localhost"

LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en", "English"), ("de", "Deutsch")]
LANGUAGE_COOKIE_AGE = 365 * 24 * 3600  # a year: asked for once on each device
LANGUAGE_COOKIE_SAMESITE = "Lax"
LOCALE_PATHS = [BASE_DIR / "kit" / "locale"]
TIME_ZONE = os.environ.get("FETTLEBOOK_TIME_ZONE", "Europe/London")
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
# Served straight from the packages, so that a fresh checkout needs no collecting step; a server that has files
# collected for it names the folder.
STATIC_ROOT = os.environ.get("FETTLEBOOK_STATIC_ROOT") or None
WHITENOISE_USE_FINDERS = True
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
MEDIA_ROOT = BASE_DIR / ".uploads"
FILE_UPLOAD_MAX_MEMORY_SIZE = 2_621_440
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5_000
REGISTER_UPLOAD_MAX_BYTES = 40 * 1024 * 1024

# How long the last acts of the counter may be undone, and within how long the same code again is one scan too many.
COUNTER_UNDO_MINUTES = int(os.environ.get("FETTLEBOOK_UNDO_MINUTES", "10"))
COUNTER_DOUBLE_SCAN_SECONDS = int(os.environ.get("FETTLEBOOK_DOUBLE_SCAN_SECONDS", "10"))

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'self'"],
        "img-src": ["'self'", "data:"],
        "object-src": ["'none'"],
        "base-uri": ["'none'"],
        "form-action": ["'self'"],
        "frame-ancestors": ["'none'"],
    }
}

DJANGO_TABLES2_TEMPLATE = "components/table.html"
DJANGO_TABLES2_PAGE_RANGE = 7

# A job whose measured bore differs from the nominal one by more than this is warned about.
BORE_WARNING_MM = 3

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"console": {"class": "logging.StreamHandler"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
}
