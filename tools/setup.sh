#!/usr/bin/env bash
# Installs the named groups of tools/packages.txt: tools/setup.sh build test
# Only what is missing is installed; with nothing missing no package list is fetched and nothing is written.
set -euo pipefail

list="$(dirname "${BASH_SOURCE[0]}")/packages.txt"

if [[ $# -eq 0 ]]; then
  echo "usage: tools/setup.sh GROUP... (groups are in $list)" >&2
  exit 2
fi
if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
  echo "setup: this is not a Debian system; install the equivalents of these by hand (see $list): $*" >&2
  exit 0
fi

wanted=()
for group in "$@"; do
  mapfile -t of_group < <(awk -v heading="[$group]" \
    '/^\[/ { inside = ($0 == heading); next } inside && NF && !/^#/ { print $1 }' "$list")
  if [[ ${#of_group[@]} -eq 0 ]]; then
    echo "setup: no group [$group] in $list" >&2
    exit 2
  fi
  wanted+=("${of_group[@]}")
done

# dpkg-query fails when it does not know one of the names; what it does know it still prints.
installed="$(dpkg-query -W -f '${Package} ${db:Status-Status}\n' "${wanted[@]}" 2>/dev/null |
  awk '$2 == "installed" { print $1 }' || true)"
missing=()
for package in "${wanted[@]}"; do
  # Node.js from elsewhere brings an npm of its own, beside which Debian's cannot be installed.
  case "$package" in
    nodejs) command -v node >/dev/null && continue ;;
    npm) command -v npm >/dev/null && continue ;;
  esac
  grep -qxF "$package" <<<"$installed" || missing+=("$package")
done
[[ ${#missing[@]} -eq 0 ]] && exit 0

as_root=()
if [[ $EUID -ne 0 ]]; then
  if ! command -v sudo >/dev/null; then
    echo "setup: these packages are missing and only root can install them: ${missing[*]}" >&2
    exit 1
  fi
  as_root=(sudo)
fi

apt() {
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -q -o DPkg::Lock::Timeout=120 "$@" >&2
}
echo "setup: installing from Debian: ${missing[*]}" >&2
apt update
if grep -qxF postgresql <<<"$(printf '%s\n' "${missing[@]}")"; then
  # The tests start servers of their own; installing the package is not to start one of the machine's.
  no_cluster=/etc/postgresql-common/createcluster.d/hingeline-setup.conf
  "${as_root[@]}" mkdir -p "${no_cluster%/*}"
  trap '"${as_root[@]}" rm -f "$no_cluster"' EXIT
  "${as_root[@]}" tee "$no_cluster" >/dev/null <<<"create_main_cluster = false"
fi
apt install -y --no-install-recommends "${missing[@]}"
