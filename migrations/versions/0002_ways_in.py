"""How a unit lets people in, certificates trusted on first use, brokers, and what an advert said."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("reading", sa.Column("access", sa.Text(), nullable=False, server_default=""))
    op.add_column(
        "sighting", sa.Column("service_type", sa.Text(), nullable=False, server_default="")
    )
    op.add_column("sighting", sa.Column("txt", sa.Text(), nullable=False, server_default="{}"))
    op.create_table(
        "certificate_pin",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("first_seen_at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_certificate_pin")),
    )
    op.create_table(
        "broker",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("added_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_broker_site_id_site")),
        sa.PrimaryKeyConstraint("site_id", "url", name=op.f("pk_broker")),
    )


def downgrade() -> None:
    op.drop_table("broker")
    op.drop_table("certificate_pin")
    op.drop_column("sighting", "txt")
    op.drop_column("sighting", "service_type")
    op.drop_column("reading", "access")
