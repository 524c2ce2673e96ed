"""Stock: lots, the ledger and its balances, quarantine, reserves, powered units, and what entries used."""

from __future__ import annotations

from django.conf import settings
from django.db import models

from vestry.hospital.ids import uuid7
from vestry.hospital.keeping import Once

_USER = settings.AUTH_USER_MODEL


class StockLot(Once):
    """One maker's lot of one item in one size (vestry.stock.Lot)."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    item = models.CharField(max_length=120)
    size = models.CharField(max_length=20)
    number = models.CharField("lot", max_length=40, db_index=True)
    expiry = models.DateField(null=True)
    gtin = models.CharField(max_length=14, blank=True, db_index=True)
    model = models.CharField(max_length=80, blank=True)
    length_mm = models.PositiveIntegerField(null=True)
    per_scan = models.PositiveIntegerField(default=1)
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("item", "size", "expiry", "number")
        constraints = (
            models.UniqueConstraint(fields=["item", "size", "number", "model"], name="one_lot_of_an_item_and_size"),
        )

    def __str__(self) -> str:
        return f"{self.item} {self.size}, lot {self.number}"


class StockMovement(Once):
    """One line of the ledger (vestry.stock.Movement). `part`: on whom of the entry it was; None: on the wearer."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    lot = models.ForeignKey(StockLot, on_delete=models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=12)
    quantity = models.PositiveIntegerField()
    from_place = models.CharField(max_length=60, blank=True)
    to_place = models.CharField(max_length=60, blank=True)
    at = models.DateTimeField(db_index=True)
    by = models.ForeignKey(_USER, null=True, on_delete=models.PROTECT, related_name="+")
    why = models.CharField(max_length=500, blank=True)
    entry = models.ForeignKey("record.Entry", null=True, on_delete=models.PROTECT, related_name="movements")
    assumed = models.BooleanField(default=False)
    part = models.CharField(max_length=12, null=True)

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"{self.kind} {self.quantity} of {self.lot_id}"


class Balance(models.Model):
    """What the ledger comes to for a lot at a place: a cache, kept in the ledger's own transaction."""

    lot = models.ForeignKey(StockLot, on_delete=models.PROTECT, related_name="balances")
    place = models.CharField(max_length=60, db_index=True)
    quantity = models.IntegerField()

    class Meta:
        constraints = (models.UniqueConstraint(fields=["lot", "place"], name="one_balance_of_a_lot_at_a_place"),)

    def __str__(self) -> str:
        return f"{self.quantity} of {self.lot_id} at {self.place}"


class StockQuarantine(Once):
    """A lot put on hold, or let go again (vestry.stock.Quarantine)."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    lot = models.ForeignKey(StockLot, on_delete=models.PROTECT, related_name="quarantines")
    act = models.CharField(max_length=8)
    at = models.DateTimeField()
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    why = models.CharField(max_length=500)

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"{self.act}: {self.lot_id}"


class StockReserve(Once):
    """How many of an item in a size are wanted at least. The newest for an item and size is in force; 0: none."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    item = models.CharField(max_length=120)
    size = models.CharField(max_length=20, blank=True)
    least = models.PositiveIntegerField()
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"at least {self.least} {self.item} {self.size}"


class StockLeadTime(Once):
    """Hours from an order to its delivery. The newest for an item is in force; None takes it back.

    item   empty: of all that have none of their own;  says: who says so, a supplier by name or a paper
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    item = models.CharField(max_length=120, blank=True)
    hours = models.PositiveIntegerField(null=True)
    says = models.CharField(max_length=200)
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"{self.item or 'all else'}: {self.hours} hours"


class StockUnit(Once):
    """A powered unit by serial number (vestry.stock.PoweredUnit)."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    item = models.CharField(max_length=120)
    serial = models.CharField(max_length=60, unique=True)
    battery = models.CharField(max_length=60, blank=True)
    service_months = models.PositiveIntegerField(null=True)
    battery_months = models.PositiveIntegerField(null=True)
    flow_months = models.PositiveIntegerField(null=True)
    most_cleanings = models.PositiveIntegerField(null=True)
    battery_minutes = models.PositiveIntegerField(default=240)
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("item", "serial")

    def __str__(self) -> str:
        return self.serial


class StockUnitEvent(Once):
    """Something that happened to a powered unit (vestry.stock.UnitEvent)."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    unit = models.ForeignKey(StockUnit, on_delete=models.PROTECT, related_name="events")
    kind = models.CharField(max_length=16)
    at = models.DateTimeField()
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    passed = models.BooleanField(default=True)
    minutes = models.PositiveIntegerField(null=True)
    entry = models.ForeignKey("record.Entry", null=True, on_delete=models.PROTECT, related_name="+")
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"{self.kind} of {self.unit_id}"


class EntryPosting(Once):
    """That an entry's use was put to the ledger, and what of it no lot could be named for.

    wanting   items that were used and that the shelf does not know: [{item, size, kind, quantity}]
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    entry = models.ForeignKey("record.Entry", on_delete=models.PROTECT, related_name="postings")
    at = models.DateTimeField()
    wanting = models.JSONField()

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"posting of {self.entry_id}"


class EntryGear(Once):
    """One lot or powered unit that was scanned onto somebody in an entry (vestry.stock.gear).

    part               wearer, observer or assistant
    troubles           what was told of it when it was scanned;  decided_by, reason: who put it on all the same, and why
    late               scanned when the entry's use stood in the ledger already
    """

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    entry = models.ForeignKey("record.Entry", on_delete=models.PROTECT, related_name="gear")
    part = models.CharField(max_length=12)
    item = models.CharField(max_length=120)
    lot = models.ForeignKey(StockLot, null=True, on_delete=models.PROTECT, related_name="gear")
    unit = models.ForeignKey(StockUnit, null=True, on_delete=models.PROTECT, related_name="gear")
    quantity = models.PositiveIntegerField(default=1)
    code = models.CharField(max_length=500)
    troubles = models.JSONField()
    decided_by = models.CharField(max_length=120, blank=True)
    reason = models.CharField(max_length=500, blank=True)
    late = models.BooleanField(default=False)
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return f"{self.item} on {self.part} of {self.entry_id}"


class EntryGearBack(Once):
    """That a scan was wrong: the thing was put back, or belongs to somebody else."""

    gear = models.OneToOneField(EntryGear, on_delete=models.PROTECT, related_name="back")
    by = models.ForeignKey(_USER, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.gear_id} taken back"
