# shellcheck shell=bash
# Sourced by the other scripts: goes to the top of the tree and finds Go.
cd "$(dirname "${BASH_SOURCE[0]}")/.." || exit 1
find_go() {
  local place
  for place in /usr/local/go/bin /usr/lib/go/bin "$HOME/go/bin" "$HOME/sdk"/go*/bin /snap/bin /opt/homebrew/bin; do
    if command -v go >/dev/null 2>&1; then
      return
    fi
    if [ -x "$place/go" ]; then
      PATH="$PATH:$place"
    fi
  done
}
find_go
if ! command -v go >/dev/null 2>&1; then
  echo "Go is not found: install Go $(awk '$1 == "go" {print $2}' go.mod) or later and put it on the PATH" >&2
  exit 1
fi
# A clone owned by someone else must still build: no version-control stamp.
export GOFLAGS="${GOFLAGS:+$GOFLAGS }-buildvcs=false" PATH
