"""The kiosk at work: the desk, the sitting, the archive and the printer, driven frame by frame."""
