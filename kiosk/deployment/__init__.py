"""A kiosk on a clinic's machine: what is open there, the Debian package, the offline bundle, updates."""
