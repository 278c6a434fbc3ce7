#!/usr/bin/env bash
# Writes lines.tsv: words, and the order in which GNU FriBidi prints them in a line that runs from the left.
# Needs Debian's libfribidi-bin.
cd "$(dirname "$0")"
while IFS= read -r line; do
  printf '%s\t%s\n' "$line" "$(printf '%s\n' "$line" | fribidi --ltr --nopad --width 1000)"
done <<'LINES' > lines.tsv
שלום
A שלום 12
A שלום 12 B
12 שלום
שלום 12
שלום, עולם!
record שלום 12-34, born 1950
רחוב הנמל 4, 3.5 ק"מ
A שלום B עולם C
שלום abc 12 עולם
25% שלום 25%
(שלום) text
שלום (text) עולם
שלום $25 עולם
1,234 שלום 1,234
LINES
