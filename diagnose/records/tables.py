"""The tables of the store, as the newest schema has them; `migrations` makes them.

Content is JSON in text columns: read back sign by sign, the same on both engines. What is
searched for stands apart, for it differs by engine: see `searching`.
"""

from sqlalchemy import (
    BigInteger,
    Column,
    Double,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

METADATA = MetaData()
_BIG = BigInteger().with_variant(Integer, "sqlite")

cases = Table(
    "cases",
    METADATA,
    Column("row", _BIG, primary_key=True),
    Column("id", String(36), nullable=False, unique=True),
    Column("number", Integer, nullable=False),  # its last change, counted within the case
    Column("last", _BIG, nullable=False, index=True),  # its last change, counted in the store
    Column("state", String(20), nullable=False),
    Column("title", Text, nullable=False),
    Column("answers", Integer, nullable=False),
    Column("opened", String(40), nullable=False),
    Column("updated", String(40), nullable=False),
    Column("by", String(80), nullable=False),
    Column("closed", String(40)),
    Column("causes", Text),  # JSON list; null while nothing is found
    Column("sure", String(40)),
    Column("hours", Double, nullable=False),
    Column("content", Text, nullable=False),  # the case after its last change
)
changes = Table(
    "changes",
    METADATA,
    Column("id", _BIG, primary_key=True),
    Column("case_row", ForeignKey("cases.row"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("token", String(64), nullable=False, unique=True),
    Column("by", String(80), nullable=False),
    Column("at", String(40), nullable=False),
    Column("what", Text, nullable=False),
    Column("patch", Text, nullable=False),
    UniqueConstraint("case_row", "number"),
)
conflicts = Table(
    "conflicts",
    METADATA,
    Column("id", _BIG, primary_key=True),
    Column("case_row", ForeignKey("cases.row"), nullable=False, index=True),
    Column("number", Integer, nullable=False),
    Column("by", String(80), nullable=False),
    Column("at", String(40), nullable=False),
    Column("field", String(40), nullable=False),
    Column("key", String(140), nullable=False),
    Column("first", Text, nullable=False),
    Column("other", Text, nullable=False),
    Column("choice", String(8), nullable=False),
    Column("settled_by", String(80), nullable=False),
    Column("settled_at", String(40), nullable=False),
)
pictures = Table(
    "pictures",
    METADATA,
    Column("sha256", String(64), primary_key=True),
    Column("data", LargeBinary, nullable=False),
)
photos = Table(
    "photos",
    METADATA,
    Column("id", _BIG, primary_key=True),
    Column("case_row", ForeignKey("cases.row"), nullable=False, index=True),
    Column("sha256", ForeignKey("pictures.sha256"), nullable=False),
    Column("name", Text, nullable=False),
    Column("caption", Text, nullable=False),
    Column("kind", String(8), nullable=False),
    Column("size", Integer, nullable=False),
    Column("by", String(80), nullable=False),
    Column("at", String(40), nullable=False),
    Column("removed_by", String(80)),
    Column("removed_at", String(40)),
)
