"""What holds in every environment."""

import os
from pathlib import Path

from django.utils.csp import CSP

from labsite.settings.database import database

BASE_DIR = Path(__file__).resolve().parent.parent.parent
FIXTURES_DIR = BASE_DIR / "fixtures"
RUN_TIME_DIR = Path(os.environ.get("LAB_DATA", BASE_DIR / "var"))

INSTALLED_APPS = [
    "labsite",
    "labsite.ledger",
    "calibration",
    "specimens",
    "trials",
    "reports",
    "allauth",
    "allauth.account",
    "django_htmx",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "django.middleware.csp.ContentSecurityPolicyMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "labsite.ledger.middleware.LaboratoryMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "labsite.urls"
WSGI_APPLICATION = "labsite.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "labsite.context.page_frame",
            ],
            "builtins": ["labsite.templatetags.labsite_ui"],
        },
    }
]

DATABASES = {"default": database(os.environ.get("DATABASE_URL", ""), fallback=RUN_TIME_DIR / "lab.sqlite3")}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
FIXTURE_DIRS = [FIXTURES_DIR]

AUTH_USER_MODEL = "ledger.User"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "account_login"
ACCOUNT_ADAPTER = "labsite.accounts.StaffAccountAdapter"
ACCOUNT_LOGIN_METHODS = {"username"}
ACCOUNT_FORMS = {"login": "labsite.forms.SignInForm"}
ACCOUNT_SESSION_REMEMBER = False
ACCOUNT_SIGNUP_FIELDS = ["username*", "password1*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_LOGOUT_ON_GET = False
ACCOUNT_PRESERVE_USERNAME_CASING = False
ACCOUNT_RATE_LIMITS = {"login": "30/m/ip", "login_failed": "5/m/key,20/m/ip"}

# The methods offered at the counter. The counter lies below the methods, so the arrow is turned round here.
METHOD_CATALOGUE = "trials.queries.methods.method_catalogue"
PRODUCT_GUIDE = "trials.queries.guide.guide_offer"
AGREED_FIGURES = "trials.queries.guide.agreed_words"
CAPABILITY_WARNINGS = "trials.queries.capability.capability_warnings"
# What the methods ask of a rig before it goes into service; the rigs lie below the methods.
APPARATUS_REQUIREMENTS = "trials.queries.apparatus.apparatus_requirements"
# What the methods say of the checks between calibrations; the same.
CHECK_FIGURES = "trials.queries.check_figures.check_figures"
# How often an instrument was used; trials lie above the instruments.
INSTRUMENT_USES = "trials.queries.instrument_uses.uses_between"
# The lines that have their certificate, which the queue leaves out; certificates lie above the queue.
CERTIFIED_LINES = "reports.queries.certified.certified_line_ids"

# Where mails and calendars lead to, without a slash at its end.
SITE_ADDRESS = os.environ.get("SITE_ADDRESS", "http://127.0.0.1:8000").rstrip("/")
DEFAULT_FROM_EMAIL = os.environ.get("MAIL_FROM", "lab@localhost")

LANGUAGE_CODE = "en"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATIC_ROOT = RUN_TIME_DIR / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024

TASKS = {"default": {"BACKEND": "django.tasks.backends.immediate.ImmediateBackend"}}

SECURE_CSP = {
    "default-src": [CSP.NONE],
    "script-src": [CSP.SELF],
    "style-src": [CSP.SELF],
    "img-src": [CSP.SELF, "data:"],
    "connect-src": [CSP.SELF],
    "font-src": [CSP.SELF],
    "form-action": [CSP.SELF],
    "frame-ancestors": [CSP.NONE],
    "base-uri": [CSP.NONE],
}
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 12 * 60 * 60
