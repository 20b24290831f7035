#!/bin/sh
# The version of the kiosk that runs here, by the link that an update replaces.
exec /opt/pursuit-kiosk/current/bin/python3 -P -m kiosk "$@"
