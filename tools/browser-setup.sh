#!/bin/sh
# Installs what the browser tests need beyond Go: Chromium from Debian, without
# its windows where there is such a package (a third less work for the same pages), and
# axe-core from npm into .tools/, which is ignored. Nothing here enters the
# program or the repository. Safe to run again.
set -eu
cd "$(dirname "$0")/.."

have() { command -v "$1" >/dev/null 2>&1; }
browser() { have chromium-headless-shell || have chromium || have chromium-browser || have google-chrome; }
asRoot() { [ "$(id -u)" = 0 ] && have apt-get; }
install() { DEBIAN_FRONTEND=noninteractive apt-get install -yq --no-install-recommends "$@"; }

if asRoot && ! { have chromium-headless-shell && have npm; }; then
	apt-get update -q || true
	have chromium-headless-shell || install chromium-headless-shell fonts-liberation fonts-dejavu-core ||
		browser || install chromium fonts-liberation fonts-dejavu-core
	have npm || install nodejs npm
fi
if ! browser || ! have npm; then
	echo "browser-setup: install chromium and npm first, or run this as root on Debian" >&2
	exit 1
fi

AXE=4.14.1
if ! grep -q "\"version\": \"$AXE\"" .tools/node_modules/axe-core/package.json 2>/dev/null; then
	mkdir -p .tools
	npm install --prefix .tools --no-save --no-fund --no-audit --ignore-scripts "axe-core@$AXE"
fi
test -s .tools/node_modules/axe-core/axe.min.js
echo "browser-setup: Chromium and axe-core $AXE are here"
