"""Time-domain roll motion of a ship on her righting levers, with a batch scenario runner."""
