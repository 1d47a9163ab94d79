"""The one settings file; `.env.example` lists what the environment can change."""

from pathlib import Path
from typing import Any

from shop import env

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.text("SHOP_DATA", str(BASE_DIR / ".data")))
DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)

# `own` is the shop's work, `demo` the demo shop's. A demo must never reach the shop's data, so it reads neither
# the shop's own choices nor DATABASE_URL.
SHOP_DATABASE = env.choice("SHOP_DATABASE", "own", {"own", "demo", "test"})
SHOP_ENV_FILE = DATA_DIR / "shop.env"
if SHOP_DATABASE == "own":
    env.load(SHOP_ENV_FILE)
DATABASE_URL = "" if SHOP_DATABASE == "demo" else env.text("DATABASE_URL", "")

DEBUG = env.flag("DEBUG")
SECRET_KEY = env.secret(DATA_DIR / "secret_key")
ALLOWED_HOSTS = env.names("ALLOWED_HOSTS", ["localhost", "127.0.0.1", "[::1]"])
PORT = env.whole("PORT", 8000, low=1, high=65535)

INSTALLED_APPS = [
    "shop.apps.ShopConfig",
    "packs",
    "django_htmx",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "shop.middleware.ContentSecurityPolicyMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "shop.middleware.LargestUploadMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "shop.middleware.TimeZoneMiddleware",
    "shop.middleware.PlainAddressMiddleware",
]

ROOT_URLCONF = "shop.urls"
WSGI_APPLICATION = "shop.wsgi.application"

TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "shop.web.context.workshop",
            ],
        },
    },
]

# A write takes its lock at once (IMMEDIATE) and waits for it, so that two benches never meet half-way through;
# FULL keeps a finished step through a power cut.
SQLITE: dict[str, Any] = {
    "ENGINE": "shop.sqlite3",
    "NAME": DATA_DIR / f"{SHOP_DATABASE}.sqlite3",
    "OPTIONS": {
        "timeout": 30,
        "transaction_mode": "IMMEDIATE",
        "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL;",
    },
}
DATABASES: dict[str, dict[str, Any]] = {"default": env.database(DATABASE_URL) if DATABASE_URL else SQLITE}
# A connection stays open between requests: closing SQLite's last one would write the whole log back each time.
DATABASES["default"] |= {"ATOMIC_REQUESTS": False, "CONN_MAX_AGE": 600}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "shop.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
if SHOP_DATABASE == "demo":
    # Eight new passwords stand before the demo's first page; scrypt takes a tenth of the usual hasher's time.
    PASSWORD_HASHERS = ["django.contrib.auth.hashers.ScryptPasswordHasher"]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "/"

LANGUAGE_CODE = "en"
LOCALE_PATHS = [BASE_DIR / "shop" / "locale"]
USE_I18N = True
USE_TZ = True
TIME_ZONE = env.time_zone("TIME_ZONE", "UTC")

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
# Served straight from the tree: no build step stands between an update and the bench.
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG
MEDIA_ROOT = DATA_DIR / "uploads"
FILE_UPLOAD_PERMISSIONS = 0o600
# What one form or one request of the API may bring, files apart: 20 000 cells with three readings each fit.
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
# One page asks for a voltage of each of up to 1000 cells.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000
# A tester file of a million rows is about 40 MB as text; longer ones come in packed, or by command from a folder.
LARGEST_UPLOAD = 64 * 1024**2

# How long a page looks for better groups. The answer says how far from the best it can be.
MATCHING_SECONDS = 1.0

# Tablets on the workshop's network speak plain http to the shop: cookies that need https would lock them out.
# HTTPS=1 is for a shop behind a server that ends TLS.
HTTPS = env.flag("HTTPS")
SECURE_SSL_REDIRECT = SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_HSTS_SECONDS = 30 * 24 * 3600 if HTTPS else 0
CSRF_TRUSTED_ORIGINS = env.names("CSRF_TRUSTED_ORIGINS", [])
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
# Subdomains and the browsers' preload list reach past this shop to other machines of its domain: not ours to promise.
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]

SESSION_COOKIE_AGE = 12 * 3600
if SHOP_DATABASE == "demo":
    # Cookies don't tell ports apart: a demo beside the shop must not sign anyone out of it.
    SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "demo_sessionid", "demo_csrftoken"

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "shop.api.auth.TesterAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["shop.api.auth.PeopleOrPostingTester"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["shop.api.parsing.ShopJSONParser"],
    "DEFAULT_SCHEMA_CLASS": "shop.api.schema.ShopSchema",
    "EXCEPTION_HANDLER": "shop.api.errors.handle",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Battery pack rebuilding",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["shop.api.auth.PeopleOrPostingTester"],
    "ENUM_NAME_OVERRIDES": {
        "OwnerEnum": "shop.api.schema.OWNERS",
        "DocumentKindEnum": "shop.api.schema.DOCUMENT_KINDS",
        "JobKindEnum": "shop.api.schema.JOB_KINDS",
        "CountBasisEnum": "shop.api.schema.COUNT_BASES",
        "IncidentKindEnum": "shop.api.schema.INCIDENT_KINDS",
        "ItemKindEnum": "shop.api.schema.ITEM_KINDS",
        "ChemistryEnum": "shop.api.schema.CHEMISTRIES",
        "ConditionEnum": "shop.api.schema.CONDITIONS",
        "DangerLevelEnum": "shop.api.schema.DANGER_LEVELS",
        "DeviceClassEnum": "shop.api.schema.DEVICE_CLASSES",
        "WrapEnum": "shop.api.schema.WRAPS",
    },
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        # Django's own handler is silent without DEBUG; errors belong on the terminal that serves the shop.
        "django": {"handlers": ["console"], "level": "WARNING", "propagate": False},
        "shop": {"level": env.choice("LOG_LEVEL", "INFO", {"DEBUG", "INFO", "WARNING", "ERROR"})},
        "fontTools": {"level": "ERROR"},
    },
}
