"""People who sign in, the roles given to them, how they show who they are, and sign-ins that failed.

Roles are a table that changes; AccessChanged tells every change and is written once.
"""

from __future__ import annotations

from functools import cached_property

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models

from vestry.hospital.access.table import ROLE_NAMES, ROLES, SECOND_FACTOR, allowed
from vestry.hospital.keeping import Once


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
    def has_second_factor(self) -> bool:
        """Whether one is in force: codes or a passkey."""
        return self.second_factor is not None or Passkey.objects.filter(user=self, ended=None).exists()

    @property
    def needs_second_factor(self) -> bool:
        """Whether a role of theirs asks for one (access/table.py)."""
        return bool(self.roles & SECOND_FACTOR)

    @property
    def second_factor(self) -> SecondFactor | None:
        """The one in force."""
        return SecondFactor.objects.filter(user=self, ended=None).first()

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


class AccessChanged(Once):
    """Somebody's access was changed. `by` is empty where it was done on the server itself."""

    WHATS = (
        ("added", "added"),
        ("roles", "roles changed"),
        ("ended", "may not sign in any more"),
        ("again", "may sign in again"),
        ("code", "new set-up code"),
        ("password", "password set"),
        ("factor-set", "second factor set up"),
        ("factor-ended", "second factor ended"),
        ("factor-code", "signed in with a spare code"),
        ("passkey-set", "passkey added"),
        ("passkey-ended", "passkey removed"),
        ("linked", "account linked"),
        ("unlinked", "account unlinked"),
    )

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="changes")
    what = models.CharField(max_length=20, choices=WHATS)
    roles = models.JSONField(default=list)
    reason = models.CharField(max_length=400, blank=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", null=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"{self.user}: {self.get_what_display()}"


class SetUpCode(Once):
    """A code with which somebody sets a password, once. It is told once; only its hash is kept."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="codes")
    code_hash = models.CharField(max_length=64, unique=True)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"code of {self.user}"


class SetUpCodeUsed(Once):
    """A set-up code that set a password."""

    code = models.OneToOneField(SetUpCode, on_delete=models.PROTECT, related_name="used")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.code}, used"


class SecondFactor(Once):
    """What somebody's phone shares with this server. The newest that is not ended counts.

    secret   base 32; whoever reads the database can make its codes, so it is as secret as the data folder
    spare    hashes of spare codes, each for one sign-in
    """

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="factors")
    secret = models.CharField(max_length=64)
    spare = models.JSONField(default=list)
    at = models.DateTimeField()

    class Meta:
        ordering = ("-pk",)

    def __str__(self) -> str:
        return f"second factor of {self.user}"


class SecondFactorEnded(Once):
    """A second factor that is worth nothing any more."""

    factor = models.OneToOneField(SecondFactor, on_delete=models.PROTECT, related_name="ended")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.factor}, ended"


class SecondFactorUsed(Once):
    """A code that was taken: it is not taken again. `code` is the half minute it stands for, or a spare code's hash."""

    factor = models.ForeignKey(SecondFactor, on_delete=models.PROTECT, related_name="uses")
    code = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["factor", "code"], name="one_use_of_a_code"),)

    def __str__(self) -> str:
        return f"{self.factor}, used"


class Passkey(Once):
    """A passkey of somebody's (access/passkeys.py): its public half. Several per person, each by a name of theirs.

    credential, public_key   base 64 for addresses, without its padding
    count                    of signatures, as the device told when it was made; 0 where it counts none
    """

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="passkeys")
    name = models.CharField(max_length=60)
    credential = models.CharField(max_length=1400, unique=True)
    public_key = models.TextField()
    count = models.BigIntegerField()
    at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"passkey of {self.user}"


class PasskeyEnded(Once):
    """A passkey that is worth nothing any more."""

    passkey = models.OneToOneField(Passkey, on_delete=models.PROTECT, related_name="ended")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.passkey}, ended"


class PasskeyUsed(Once):
    """An answer that was taken: its challenge is not taken again, and the device's count must go on."""

    passkey = models.ForeignKey(Passkey, on_delete=models.PROTECT, related_name="uses")
    challenge = models.CharField(max_length=64, unique=True)
    count = models.BigIntegerField()
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.passkey}, used"


class HospitalAccount(Once):
    """Whose an account of the hospital's own sign-in is (access/accounts.py): linked by an administrator, by name.

    issuer, subject   as the identity token says them: an address, and what the issuer knows somebody by
    """

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="accounts")
    issuer = models.CharField(max_length=400)
    subject = models.CharField(max_length=255)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("pk",)
        indexes = (models.Index(fields=["issuer", "subject"], name="account_by_subject"),)

    def __str__(self) -> str:
        return f"account of {self.user}"


class HospitalAccountEnded(Once):
    """An account that is not linked any more."""

    account = models.OneToOneField(HospitalAccount, on_delete=models.PROTECT, related_name="ended")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.account}, unlinked"


class HospitalAccountUsed(Once):
    """An identity token that was taken: it is not taken again.

    nonce    a hash of the number that the token answers
    strong   whether it counted as a second factor
    """

    account = models.ForeignKey(HospitalAccount, on_delete=models.PROTECT, related_name="uses")
    nonce = models.CharField(max_length=64, unique=True)
    strong = models.BooleanField()
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.account}, used"
