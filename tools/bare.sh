#!/usr/bin/env bash
# Run a command of dev.py on a machine as bare as can be made: a fresh Debian with nothing but git, make and python3
# (no pip, no ensurepip, no browser, no fonts), an empty home folder and an empty environment, from a fresh clone.
#
#   sudo tools/bare.sh demo          (maintainers only; needs root, debootstrap and unshare)
#   sudo tools/bare.sh check
#
# The fresh Debian is kept as an archive beside the temporary files, so that a second run starts in seconds. Where this
# machine reaches its packages through settings of its own (apt's sources, certificates, pip's settings), those are
# copied in: they belong to the network, not to the project.
set -euo pipefail

command="${1:-check}"
project="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)"
release="$(. /etc/os-release && echo "$VERSION_CODENAME")"
keep="${TMPDIR:-/tmp}/vanewise-bare-$release.tar"

if [ "$(id -u)" -ne 0 ]; then
    echo "tools/bare.sh needs root, for a root folder of its own. Next: run it as root." >&2
    exit 1
fi
if ! command -v debootstrap >/dev/null; then
    echo "tools/bare.sh needs debootstrap. Next: apt-get install debootstrap" >&2
    exit 1
fi

sources() {
    # This machine's own sources of Debian, whatever file they are written in.
    apt-get indextargets --format '$(REPO_URI) $(RELEASE) $(COMPONENT)' 'Created-By: Packages' 'Origin: Debian' | sort -u
}

if [ ! -f "$keep" ]; then
    base="$(mktemp -d)"
    mirror="$(sources | awk -v release="$release" '$2 == release { print $1; exit }')"
    echo "Making a bare Debian $release (some two minutes, once)."
    debootstrap --variant=minbase --include=make,git,python3,ca-certificates "$release" "$base" "$mirror" >"$keep.log" 2>&1
    sources | awk '{ print "deb " $1 " " $2 " " $3 }' >"$base/etc/apt/sources.list"
    tar -C "$base" -cf "$keep" .
    rm -rf "$base"
fi

root="$(mktemp -d)"
trap 'rm -rf --one-file-system "$root"' EXIT
tar -C "$root" -xf "$keep"
# The archive remembers a folder for its owner only, and PostgreSQL runs as a user of its own.
chmod 755 "$root"
cp -L /etc/resolv.conf /etc/hosts "$root/etc/"
cp -L /etc/ssl/certs/ca-certificates.crt "$root/etc/ssl/certs/"
for settings in /etc/pip.conf /etc/xdg/pip/pip.conf; do
    if [ -f "$settings" ]; then
        # Only how to reach the index; links to folders of this machine mean nothing in there.
        mkdir -p "$root$(dirname "$settings")"
        grep -vE 'find-links|extra-index-url|constraint' "$settings" >"$root$settings" || true
    fi
done
git clone -q "$project" "$root/srv/vanewise"

export root command
unshare --mount --pid --fork bash -euo pipefail -c '
    mount -t proc proc "$root/proc"
    mount --rbind /dev "$root/dev"
    mount -t tmpfs tmpfs "$root/tmp"
    mkdir -p "$root/empty-home"
    exec chroot "$root" /usr/bin/env -i HOME=/empty-home PATH=/usr/bin:/bin LANG=C.UTF-8 ${CI:+CI="$CI"} \
        bash -c "cd /srv/vanewise && for f in pip ensurepip; do python3 -c \"import \$f\" 2>/dev/null && echo \"not bare: \$f\"; done; time make $command"
'
