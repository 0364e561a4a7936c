#!/bin/sh
# A second verifier of a trail: sqlite3, openssl, jq and basenc, no line of the program. Usage: verify.sh TRAIL
set -eu
trail=$1
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
die() { echo "$1"; exit 1; }
ask() { sqlite3 -readonly "$trail" "$1"; }
octets() { printf %s "$1" | basenc --base16 -d; }
digest() { openssl dgst -sha256 -r | cut -c1-64 | tr a-f A-F; }

id=$(ask "SELECT value FROM meta WHERE key = 'trail'")
head=$(printf 'evenhand-trail-1\n%s' "$id" | digest)
count=0
ask 'SELECT seq, hex(prev), hex(hash), hex(bytes) FROM events ORDER BY seq' >"$work/rows"
while IFS='|' read -r seq prev hash bytes; do
    count=$((count + 1))
    [ "$seq" = "$count" ] && [ "$prev" = "$head" ] || die "event $count does not follow"
    head=$({ printf 'evenhand-trail-1\n'; octets "$prev$bytes"; } | digest)
    [ "$hash" = "$head" ] || die "event $count is not what was hashed"
    octets "$bytes" >"$work/bytes"
    jq -cjS "if .seq == $count then . else error(\"number\") end" "$work/bytes" 2>/dev/null | cmp -s - "$work/bytes" ||
        die "event $count is not canonical"
done <"$work/rows"

ask 'SELECT seq, lower(hex(hash)), hex(key), hex(signature) FROM signatures' >"$work/rows"
while IFS='|' read -r seq hash key signature; do
    [ "$hash" = "$(ask "SELECT lower(hex(hash)) FROM events WHERE seq = $seq")" ] || die "signed event $seq is gone"
    printf 'evenhand-head-1\n%s\n%s\n%s\n' "$id" "$seq" "$hash" >"$work/message"
    octets "302A300506032B6570032100$key" | openssl pkey -pubin -inform DER -out "$work/key"
    octets "$signature" >"$work/signature"
    openssl pkeyutl -verify -pubin -inkey "$work/key" -rawin -in "$work/message" -sigfile "$work/signature" >/dev/null ||
        die "the signature over event $seq does not hold"
done <"$work/rows"
echo "$count $head"
