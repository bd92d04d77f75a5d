"""What the Line room says: rows, timeline, follow-up list, handover note; Qt-free."""
