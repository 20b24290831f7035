#!/bin/sh
# Installs the pursuit kiosk from this folder; no network is needed. As root: sh install.sh
set -eu
here=$(cd "$(dirname "$0")" && pwd)
refuse() { echo "$1" >&2; exit 1; }
[ "$(id -u)" = 0 ] || refuse "Installing needs the rights of root: sudo sh install.sh"
[ "$(dpkg --print-architecture)" = "@ARCHITECTURE@" ] || refuse "This bundle is for @ARCHITECTURE@ machines."
(cd "$here" && sha256sum --check --quiet SHA256SUMS) || refuse "The bundle was changed or is not whole."

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$work/lists/partial"
ln -s "$here/debs" "$work/debs"
echo "deb [trusted=yes] file:$work/debs ./" > "$work/bundle.list"
from_here() {
    apt-get -q -o Dir::Etc::sourcelist="$work/bundle.list" -o Dir::Etc::sourceparts=- \
        -o Dir::State::lists="$work/lists" -o APT::Sandbox::User=root "$@"
}
export DEBIAN_FRONTEND=noninteractive
from_here update
from_here install -y --no-install-recommends pursuit-kiosk cups
pursuit-kiosk check --fix || true
echo "Installed. The kiosk starts with the machine; now: systemctl start pursuit-kiosk"
