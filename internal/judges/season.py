# Counts the days of seasons in a station's record, from the file itself and
# the rule's own words: few lines, standard library, loops instead of thought.
import csv, datetime, json, math, sys

path, units, rule = sys.argv[1], sys.argv[2], json.loads(sys.argv[3])
data = {e: {} for e in ("TMIN", "TMAX", "PRCP", "SNOW", "SNWD")}
days = set()
if path.endswith(".dly"):
    for line in open(path):
        e = line[17:21]
        if e not in data:
            continue
        for i in range(31):
            value, flag = line[21 + 8 * i:26 + 8 * i], line[27 + 8 * i]
            try:
                d = datetime.date(int(line[11:15]), int(line[15:17]), i + 1).toordinal()
            except ValueError:
                continue
            days.add(d)
            if int(value) != -9999 and flag == " ":
                data[e][d] = int(value) / (1 if e.startswith("SN") else 10)
else:
    for row in csv.DictReader(open(path)):
        d = datetime.date.fromisoformat(row["date"]).toordinal()
        days.add(d)
        for e in data:
            if row[e] != "NA":
                v = float(row[e])
                if units == "us":
                    v = (v - 32) * 5 / 9 if e[0] == "T" else v * 25.4
                data[e][d] = v
tmin, tmax, rain, depth = data["TMIN"], data["TMAX"], data["PRCP"], dict(data["SNWD"])
first, last = min(days), max(days)
date = datetime.date.fromordinal
month = {d: date(d).month for d in range(first, last + 1)}
for d in range(first, last + 1):
    if d in tmin and d in tmax and tmin[d] > tmax[d]:
        del tmin[d], tmax[d]

YES, NO, OPEN = 1, 0, None  # OPEN: what is missing could turn it


def any3(parts):
    return YES if YES in parts else OPEN if OPEN in parts else NO


def back(d, n):
    return range(d, d - n, -1)


def enough(series, d, n, bound):
    got = sum(series[k] for k in back(d, n) if k in series)
    return YES if got >= bound - 1e-9 else OPEN if any(k not in series for k in back(d, n)) else NO


melt, known = {}, dict(depth)
d = first
while d <= last:
    y = d - 1
    if d not in known and known.get(y) == 0 and (rain.get(d) == 0 or tmin.get(d, -99) > 3):
        known[d] = 0
    if tmax.get(d, 99) <= 0 or known.get(y) == 0:
        melt[d] = 0
    elif d in known and y in known and known[d] >= known[y]:
        melt[d] = 0
    elif d in known and y in known and d in tmax:
        melt[d] = known[y] - known[d]
    d += 1


def warmth(lo, hi, base, method):
    mean, half = (lo + hi) / 2, (hi - lo) / 2
    if method == "average":
        return max(0, mean - base)
    if lo >= base:
        return mean - base
    if hi <= base:
        return 0
    t = math.asin((base - mean) / half)
    return ((mean - base) * (math.pi / 2 - t) + half * math.cos(t)) / math.pi


def dd(lo, hi, base, cutoff, method):
    return warmth(lo, hi, base, method) - (warmth(lo, hi, cutoff, method) if cutoff is not None else 0)


gathered = {}
if "degree_days" in rule:
    r = rule["degree_days"]
    part = {k: dd(tmin[k], tmax[k], r["base_c"], r.get("cutoff_c"), r["method"]) for k in tmin if k in tmax}
    have = sorted(part)
    for a, b in zip(have, have[1:]):  # a straight line through short gaps
        gap = b - a - 1
        if 0 < gap <= r["fill_days"]:
            for k in range(1, gap + 1):
                part[a + k] = part[a] + (part[b] - part[a]) * k / (gap + 1)
    total, d = None, first
    while d <= last:
        if date(d).strftime("%m-%d") == r["start"]:
            total = 0
        total = total + part[d] if total is not None and d in part else None
        if total is not None:
            gathered[d] = total
        d += 1


def parts_of(d):
    yield YES if month[d] in rule["months"] else NO
    if "cool" in rule:
        yield OPEN if d not in tmax else int(tmax[d] <= rule["cool"]["tmax_at_most_c"])
    if "mild" in rule:
        r = rule["mild"]
        for k in back(d, r["days"]):
            yield OPEN if k not in tmax else int(tmax[k] >= r["tmax_at_least_c"])
            if "tmin_at_least_c" in r:
                yield OPEN if k not in tmin else int(tmin[k] >= r["tmin_at_least_c"])
    if "freeze" in rule:
        r = rule["freeze"]
        yield any3([OPEN if k not in tmin else int(tmin[k] <= r["tmin_at_most_c"]) for k in back(d, r["within_days"])])
    if "degree_days" in rule:
        r = rule["degree_days"]
        yield OPEN if d not in gathered else int(r["low"] <= gathered[d] <= r["high"])
    if "wet" in rule:
        r, ways = rule["wet"], []
        if "rain_at_least_mm" in r and not rain:
            return  # never measured: not asked
        if "rain_at_least_mm" in r:
            ways.append(enough(rain, d, r["within_days"], r["rain_at_least_mm"]))
        if "melt_at_least_mm" in r and depth:
            ways.append(enough(melt, d, r["within_days"], r["melt_at_least_mm"]))
        if ways:
            yield any3(ways)


def good(d):
    sure = True
    for part in parts_of(d):
        if part == NO:
            return NO
        sure = sure and part == YES
    return YES if sure else OPEN


verdict = {}
d = first
while d <= last:
    verdict[d] = good(d)
    d += 1

window = set()
bridge, least = rule["window"]["bridge_days"], max(1, rule["window"]["least_days"])
starts = sorted(k for k in verdict if verdict[k] == YES)
runs = []
for k in starts:
    between = list(range(runs[-1][-1] + 1, k)) if runs else []
    if runs and len(between) <= bridge and all(month[b] in rule["months"] for b in between):
        runs[-1] += between + [k]
    else:
        runs.append([k])
runs = [r for r in runs if len(r) >= least]

opens = rule["months"][0]
base = rule.get("degree_days", {}).get("base_c", 0)
cutoff = rule.get("degree_days", {}).get("cutoff_c")
out = []
for year in range(date(first).year - 1, date(last).year + 1):
    begin = datetime.date(year, opens, 1).toordinal()
    end_month = rule["months"][-1]
    end = datetime.date(year + (end_month < opens) + (end_month == 12), end_month % 12 + 1, 1).toordinal() - 1
    inside = [k for k in verdict if begin <= k <= end]
    # A season is counted from the one the record begins in or after.
    if year < date(first).year - (month[first] < opens) or begin > last:
        continue
    both = [k for k in inside if k in tmin and k in tmax]
    mine = [r for r in runs if begin <= r[0] <= end]
    out.append({
        "year": year,
        "temp_days": len(both),
        "strict": sum(tmin[k] < 0 < tmax[k] for k in both),
        "firm": sum(tmin[k] <= -1 and tmax[k] >= 1 for k in both),
        "hard": sum(tmin[k] <= -2.2 and tmax[k] >= 0 for k in both),
        "average": sum(dd(tmin[k], tmax[k], base, cutoff, "average") for k in both),
        "sine": sum(dd(tmin[k], tmax[k], base, cutoff, "single-sine") for k in both),
        "judged": sum(verdict[k] is not OPEN and month[k] in rule["months"] for k in inside),
        "good": sum(verdict[k] == YES for k in inside),
        "windows": len(mine),
        "window_days": sum(len(r) for r in mine),
    })
print(json.dumps({
    "first": date(first).isoformat(), "last": date(last).isoformat(),
    "known": {e: len(data[e]) for e in data},
    "seasons": out,
}))
