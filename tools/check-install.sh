#!/bin/sh
# Tries a release where there is nothing else: no Go, no shell, no library, nobody's rights.
#
#   tools/check-install.sh [ARCHIVE.tar.gz]      as root, on Linux; without an archive it makes one
#
# An empty folder becomes the whole system (chroot) of user 65532. Into it goes the program
# from the archive, and benches that earlier versions made. Then: version, help, samples,
# demo, recheck; every old bench is brought up to date, copied, taken out and in again;
# the program is taken away, and nothing of it is left but what was asked for.
set -eu
cd "$(dirname "$0")/.."
[ "$(id -u)" = 0 ] || { echo "check-install: chroot needs root"; exit 2; }

change_root=$(command -v chroot || echo /usr/sbin/chroot)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
if [ $# -ge 1 ]; then
	archive=$1
else
	go run ./internal/release -out "$work/dist" -only "linux/$(go env GOARCH)"
	archive=$(echo "$work"/dist/*.tar.gz)
fi

root=$work/root
mkdir -p "$root/home"
tar -xzf "$archive" -C "$work"
install -m 755 "$work"/knownwater-*/knownwater "$root/knownwater"
for old in bench/testdata/schema-*; do
	cp -r "$old" "$root/home/"
done
chown -R 65532:65532 "$root/home"

# inside runs the program in the empty system, in the folder home, with an empty environment.
inside() {
	env -i HOME=/home "$change_root" --userspec=65532:65532 "$root" /knownwater "$@"
}
say() { echo "== $*"; }

say "install: $(basename "$archive")"
inside version
inside help detection limit | head -3

say "demo"
inside demo --dir /home/shed --no-serve >"$work/demo.txt"
inside recheck /home/shed/report.html
inside samples /home/practice | tail -1
inside assess /home/practice/wide.csv --methods /home/practice/wide-methods.toml --html /home/practice/wide.html

say "benches of every earlier version"
n=0
for packed in "$root"/home/schema-*.db.gz; do
	name=$(basename "$packed" .gz)
	gzip -d "$packed"
	inside backup "/home/$name" "/home/copy-$name" >/dev/null # of the old file as it stands
	inside export "/home/$name" "/home/$name.zip" >/dev/null  # opens it: it is brought up to date
	inside import "/home/$name.zip" "/home/new-$name" >/dev/null
	inside restore "/home/copy-$name" "/home/again-$name" >/dev/null
	inside export "/home/again-$name" "/home/again-$name.zip" >/dev/null
	n=$((n + 1))
done
[ "$n" -ge 10 ] || { echo "only $n old benches"; exit 1; }
echo "$n opened, copied, taken out, brought in again, restored"

say "serve"
inside serve --bench /home/schema-4.db --listen 127.0.0.1:0 >"$work/served.txt" 2>&1 &
pid=$!
for _ in 1 2 3 4 5 6 7 8 9 10; do
	grep -q "is at http" "$work/served.txt" && break
	sleep 1
done
grep "is at http" "$work/served.txt" || { cat "$work/served.txt"; exit 1; }
kill -TERM "$pid"
status=0
wait "$pid" || status=$?
[ "$status" = 143 ] || { echo "ended with $status"; exit 1; }

say "uninstall"
rm "$root/knownwater"
left=$(cd "$root" && find . -type f -not -path './home/*')
[ -z "$left" ] || { echo "left behind outside the folder of benches: $left"; exit 1; }
echo "nothing is left but what was asked for"
