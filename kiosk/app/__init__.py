"""The kiosk at work: staff's screens, the visit, the archive and the printer, driven frame by frame."""
