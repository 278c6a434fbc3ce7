# /usr/bin/python3 make.py > table.toml     (python-dateutil 2.8.2)
# The same day some months later, where a shorter month gives its last day.
from datetime import date
from dateutil.relativedelta import relativedelta
print('''figure = "payer.AddMonths"
kind = "independent tool"
source = "python-dateutil 2.8.2, relativedelta(months=n)"
locator = "make.py beside this table"
tolerance = "calendar days are exact"''')
for d in ['2026-03-01', '2026-01-31', '2028-01-31', '2026-10-31', '2027-10-31', '2028-02-29', '2026-08-30', '2026-11-15', '2099-10-31', '2026-12-31']:
    for n in [1, 4]:
        w = date.fromisoformat(d) + relativedelta(months=n)
        print(f'\n[[row]]\nname = "{d} and {n} months"\nin = {{ from = "{d}", n = {n} }}\nwant = {w:%Y%m%d}\ntol = 0.0')
