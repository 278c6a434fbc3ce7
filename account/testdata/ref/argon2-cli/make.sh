#!/bin/bash
# Makes vectors.toml and encoded.txt with the program of Argon2's authors (Debian package argon2, 0~20190702).
#   apt-get install argon2 && bash make.sh
set -eu
cd "$(dirname "$0")"
: >encoded.txt
echo '# made by make.sh' >vectors.toml
row() { # password salt t m-exponent p bytes
  hash=$(printf %s "$1" | argon2 "$2" -id -t "$3" -m "$4" -p "$5" -l "$6" -r)
  printf '\n[[Row]]\nPassword = "%s"\nSalt = "%s"\nPasses = %s\nMemoryKiB = %s\nLanes = %s\nHash = "%s"\n' "$1" "$2" "$3" $((1 << $4)) "$5" "$hash" >>vectors.toml
  printf '%s\t%s\n' "$1" "$(printf %s "$1" | argon2 "$2" -id -t "$3" -m "$4" -p "$5" -l "$6" -e)" >>encoded.txt
}
row password somesalt 2 16 1 32
row password somesalt 3 16 2 32
row "three blue herons at dawn" 0123456789abcdef 3 16 2 32
row "three blue herons at dawn" 0123456789abcdef 1 10 4 24
