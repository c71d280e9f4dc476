"""The people of the laboratory and the roles they hold."""

from functools import cached_property
from typing import Any, ClassVar, Self

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower


class Role(models.TextChoices):
    """What a person may be asked to do; one person may hold several."""

    COUNTER = "counter", "Counter"
    TECHNICIAN = "technician", "Technician"
    LEAD = "lead", "Lead"
    CHECKER = "checker", "Checker"
    SIGNATORY = "signatory", "Signatory"
    QUALITY = "quality", "Quality keeper"
    ADMINISTRATOR = "administrator", "Administrator"


class UserManager(BaseUserManager["User"]):
    """Makes people; passwords are hashed, names folded to one case."""

    def create_user(self, username: str, password: str | None = None, **fields: Any) -> "User":
        """Make one person who may sign in with `username`."""
        user = self.model(username=username.strip().lower(), **fields)
        user.set_password(password)
        user.save(using=self._db)
        return user


class User(AbstractBaseUser):
    """One person. Never deleted: every act names the person who did it."""

    username = models.CharField(max_length=60, unique=True)
    full_name = models.CharField(max_length=120)
    email = models.EmailField(blank=True, default="")
    is_active = models.BooleanField(default=True)

    objects: ClassVar[UserManager] = UserManager()

    USERNAME_FIELD = "username"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["full_name"]

    class Meta:
        """Names are unique whatever their case."""

        constraints: ClassVar = [
            models.UniqueConstraint(Lower("username"), name="user_username_any_case"),
        ]

    def __str__(self) -> str:
        return self.full_name or self.username

    @cached_property
    def roles(self) -> frozenset[str]:
        """The roles held now."""
        return frozenset(holding.role for holding in self.role_holdings.all())

    def may(self, *roles: str) -> bool:
        """Say whether the person holds any of `roles`."""
        return not self.roles.isdisjoint(roles)


class RoleHoldingQuerySet(models.QuerySet["RoleHolding"]):
    """Role holdings, asked for in the laboratory's words."""

    def of(self, role: Role) -> Self:
        """Those of one role."""
        return self.filter(role=role)


class RoleHolding(models.Model):
    """One role held by one person."""

    user = models.ForeignKey("ledger.User", on_delete=models.PROTECT, related_name="role_holdings")
    role = models.CharField(max_length=20, choices=Role.choices)

    objects = RoleHoldingQuerySet.as_manager()

    class Meta:
        """A role is held once."""

        constraints: ClassVar = [models.UniqueConstraint(fields=["user", "role"], name="role_held_once")]

    def __str__(self) -> str:
        return f"{self.user}: {self.get_role_display()}"
