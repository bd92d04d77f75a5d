"""Schema 1: cases, changes, conflicts, photos, and what cases are found by."""

import sqlalchemy as sa
from alembic import op

revision = "1"
down_revision = None
branch_labels = None
depends_on = None

_BIG = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def upgrade() -> None:
    """Make the tables."""
    _cases()
    _changes()
    _conflicts()
    _photos()
    if op.get_bind().dialect.name == "postgresql":
        op.execute("ALTER TABLE cases ADD COLUMN found_by TSVECTOR NOT NULL DEFAULT ''")
        op.execute("CREATE INDEX ix_cases_found_by ON cases USING GIN (found_by)")
    else:
        # The words come as tokens already, so the plain tokenizer keeps them as they are.
        op.execute(
            "CREATE VIRTUAL TABLE case_words USING fts5"
            "(words, state, tokenize='ascii', prefix='1 2 3 4 5 6', detail='column')"
        )


def _cases() -> None:
    op.create_table(
        "cases",
        sa.Column("row", _BIG, primary_key=True),
        sa.Column("id", sa.String(36), nullable=False, unique=True),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("last", _BIG, nullable=False),
        sa.Column("state", sa.String(20), nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("answers", sa.Integer, nullable=False),
        sa.Column("opened", sa.String(40), nullable=False),
        sa.Column("updated", sa.String(40), nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.Column("closed", sa.String(40)),
        sa.Column("causes", sa.Text),
        sa.Column("sure", sa.String(40)),
        sa.Column("hours", sa.Double, nullable=False),
        sa.Column("content", sa.Text, nullable=False),
    )
    op.create_index("ix_cases_last", "cases", ["last"])
    op.create_index("ix_cases_state", "cases", ["state", "last"])


def _changes() -> None:
    op.create_table(
        "changes",
        sa.Column("id", _BIG, primary_key=True),
        sa.Column("case_row", _BIG, sa.ForeignKey("cases.row"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("token", sa.String(64), nullable=False, unique=True),
        sa.Column("by", sa.String(80), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("patch", sa.Text, nullable=False),
        sa.UniqueConstraint("case_row", "number"),
    )


def _conflicts() -> None:
    op.create_table(
        "conflicts",
        sa.Column("id", _BIG, primary_key=True),
        sa.Column("case_row", _BIG, sa.ForeignKey("cases.row"), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("field", sa.String(40), nullable=False),
        sa.Column("key", sa.String(140), nullable=False),
        sa.Column("first", sa.Text, nullable=False),
        sa.Column("other", sa.Text, nullable=False),
        sa.Column("choice", sa.String(8), nullable=False),
        sa.Column("settled_by", sa.String(80), nullable=False),
        sa.Column("settled_at", sa.String(40), nullable=False),
    )
    op.create_index("ix_conflicts_case_row", "conflicts", ["case_row"])


def _photos() -> None:
    op.create_table(
        "pictures",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("data", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "photos",
        sa.Column("id", _BIG, primary_key=True),
        sa.Column("case_row", _BIG, sa.ForeignKey("cases.row"), nullable=False),
        sa.Column("sha256", sa.String(64), sa.ForeignKey("pictures.sha256"), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("caption", sa.Text, nullable=False),
        sa.Column("kind", sa.String(8), nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("by", sa.String(80), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("removed_by", sa.String(80)),
        sa.Column("removed_at", sa.String(40)),
    )
    op.create_index("ix_photos_case_row", "photos", ["case_row"])
