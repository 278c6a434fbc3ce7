#!/bin/sh
# sh make.sh > table.toml     (SQLite 3.40.1, command sqlite3)
# Days between dates and dates so many days later, across month ends, leap days and the turn of centuries.
cat <<'T'
figure = "payer.Days"
kind = "independent tool"
source = "SQLite 3.40.1, julianday() and date()"
locator = "make.sh beside this table"
tolerance = "calendar days are exact"
T
days() { n=$(sqlite3 :memory: "select cast(julianday('$2')-julianday('$1') as integer)"); printf '\n[[row]]\nname = "days from %s to %s"\nin = { from = "%s", to = "%s" }\nwant = %s\ntol = 0.0\n' "$1" "$2" "$1" "$2" "$n"; }
add() { r=$(sqlite3 :memory: "select strftime('%Y%m%d', '$1', '+$2 days')"); printf '\n[[row]]\nname = "%s and %s days"\nfigure = "payer.AddDays"\nin = { from = "%s", n = %s }\nwant = %s\ntol = 0.0\n' "$1" "$2" "$1" "$2" "$r"; }
days 2026-03-01 2026-06-29
days 2026-03-01 2026-07-01
days 2026-02-28 2026-03-01
days 2028-02-28 2028-03-01
days 2027-11-05 2028-03-04
days 2100-02-28 2100-03-01
days 2000-02-28 2000-03-01
days 2025-12-31 2026-01-01
days 2026-10-01 2027-01-29
for d in 2026-03-01 2026-01-31 2027-11-01 2027-10-31 2028-02-29 2026-08-31 2026-12-15; do add $d 30; add $d 120; done
