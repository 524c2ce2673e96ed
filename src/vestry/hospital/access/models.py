"""People who sign in, the roles given to them, and sign-ins that failed."""

from __future__ import annotations

from functools import cached_property

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models

from vestry.hospital.access.table import ROLE_NAMES, ROLES, allowed


class People(BaseUserManager["User"]):
    def create_person(self, sign_in: str, name: str, password: str | None, roles: tuple[str, ...] = ()) -> User:
        user = self.model(sign_in=sign_in.lower(), name=name)
        user.set_password(password)
        user.save(using=self._db)
        RoleGrant.objects.bulk_create(RoleGrant(user=user, role=role) for role in roles)
        return user


class User(AbstractBaseUser):
    """Someone who signs in. What they may do comes from their roles and the table alone."""

    sign_in = models.CharField("sign-in name", max_length=60, unique=True)
    name = models.CharField("name", max_length=120)
    is_active = models.BooleanField("may sign in", default=True)
    language = models.CharField("language of the pages", max_length=20, blank=True, default="")

    USERNAME_FIELD = "sign_in"
    REQUIRED_FIELDS = ["name"]  # noqa: RUF012  Django says list

    objects = People()

    def __str__(self) -> str:
        return self.name

    @cached_property
    def roles(self) -> frozenset[str]:
        return frozenset(self.grants.values_list("role", flat=True))

    def may(self, action: str) -> bool:
        return self.is_active and allowed(action, self.roles, signed_in=True)

    @property
    def role_names(self) -> list[str]:
        return [str(ROLE_NAMES[role]) for role in ROLES if role in self.roles]

    @property
    def given(self) -> str:
        """The first name, as on the step: "Noor does this"."""
        return self.name.split()[0] if self.name.split() else self.name


class RoleGrant(models.Model):
    """One role of one person. Someone may have several."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="grants")
    role = models.CharField(max_length=30, choices=[(role, ROLE_NAMES[role]) for role in ROLES])

    class Meta:
        constraints = (
            models.UniqueConstraint(fields=["user", "role"], name="one_grant_of_a_role"),
            models.CheckConstraint(condition=models.Q(role__in=ROLES), name="role_is_known"),
        )

    def __str__(self) -> str:
        return f"{self.user} as {self.get_role_display()}"


class FailedSignIn(models.Model):
    """A sign-in that failed, to slow the next ones down."""

    sign_in = models.CharField(max_length=60, db_index=True)
    address = models.CharField(max_length=45, db_index=True)
    at = models.DateTimeField(db_index=True)

    def __str__(self) -> str:
        return f"{self.sign_in} at {self.at:%H:%M}"
