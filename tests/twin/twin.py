#!/usr/bin/env python3
"""The same arithmetic a second time, in plain NumPy, from nothing but what smirch exports.

    smirch drill SCENARIO --script NAME --json attempt.json --touches touches.csv
    python3 tests/twin/twin.py attempt.json touches.csv

Reads the start counts, end counts and areas of every site from the JSON and every event from the CSV, then

 (a) moves what the CSV says was moved and compares each site with the end count in the JSON, exactly;
 (b) checks every probability: p = share * drawn efficiency, and contact patches equal on both sites;
 (c) computes the expected end count of every site from the means alone. An event that may happen does so with its
     chance; rows marked `follows` happen exactly when the row they follow does.

Prints one line per site that carries or could carry anything: site,start,end,expected. Talk goes to standard error.
Ends with 1, and a message that names site or row, if anything does not fit. It shares no code with smirch and is
kept as short as it can be read: this is the check, so nothing here is clever.
"""

import csv
import json
import sys

import numpy as np

SINKS = ["inactivated", "washed-away"]


def fail(message):
    print(f"twin: {message}", file=sys.stderr)
    sys.exit(1)


def read(json_path, csv_path):
    with open(json_path, encoding="utf-8") as file:
        attempt = json.load(file)
    with open(csv_path, encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["kind"] != "item"]
    if attempt.get("format") != 2:
        fail(f"this twin reads format 2, not {attempt.get('format')}")
    return attempt, rows


def met(row, share):
    """The share of a patch that is met: of small contacts the share that is written is a mean."""
    return -np.expm1(-share * float(row["extent"])) if row["extent"] else share


def check_probabilities(rows, area):
    for number, row in enumerate(rows, start=1):
        if row["happened"] != "1":
            continue
        for p, share, drawn in [("p_ab", "share_a", "drawn_ab"), ("p_ba", "share_b", "drawn_ba")]:
            spots = row["spots" + share[-2:]]
            expected = met(row, float(row[share])) * float(spots or 1.0) * float(row[drawn])
            if abs(float(row[p]) - expected) > 1e-12 or not 0.0 <= expected <= 1.0:
                fail(f"event {number}: {p} is {row[p]}, but {share} * {drawn} is {expected}: {row}")
        if row["wet"] in ("wet", "dry"):
            a, b = float(row["share_a"]), float(row["share_b"])
            patch_a, patch_b = a * area[row["site_a"]], b * area[row["site_b"]]
            cut = a >= 1.0 or b >= 1.0
            if not cut and abs(patch_a - patch_b) > 1e-9 * patch_a:
                fail(f"event {number}: patches of {patch_a} and {patch_b} cm2 meet: {row}")


def moved(rows, index, start):
    """End counts by the moved columns: whole numbers, exactly."""
    counts = start.astype(np.int64)
    for number, row in enumerate(rows, start=1):
        net = int(row["moved_ab"]) - int(row["moved_ba"])
        a, b = index[row["site_a"]], index[row["site_b"]]
        counts[a] -= net
        counts[b] += net
        if counts[a] < 0 or counts[b] < 0:
            fail(f"event {number} leaves less than nothing on a site: {row}")
    return counts


def groups(rows):
    """Events that happen together: a row and the rows after it that follow it."""
    together = []
    for row in rows:
        if row["follows"] == "1" and together:
            together[-1].append(row)
        else:
            together.append([row])
    return together


def mean_met(row, share, sort):
    """Its mean over goes for people of one sort: a gamma law's Laplace transform."""
    if not row["people"]:
        return share
    shape, person = float(row["goes"]), float(row["people"].split()[sort])
    return 1.0 - (1.0 + share * person / shape) ** -shape


def expected(rows, index, start):
    """Mean end counts over people of all sorts, who are equally common and each do all of it."""
    sorts = {len(row["people"].split()) for row in rows} - {0}
    sorts = sorts.pop() if sorts else 1
    return sum(expected_of(rows, index, start, sort) for sort in range(sorts)) / sorts


def expected_of(rows, index, start, sort):
    """Mean end counts: each group happens with its chance, each event then moves its mean shares."""
    mean = start.astype(np.float64)
    for group in groups(rows):
        after = mean.copy()
        for row in group:
            a, b = index[row["site_a"]], index[row["site_b"]]
            there = after[a] * mean_met(row, float(row["share_a"]), sort) * float(row["mean_ab"])
            back = after[b] * mean_met(row, float(row["share_b"]), sort) * float(row["mean_ba"])
            after[a] += back - there
            after[b] += there - back
        chance = float(group[0]["chance"])
        mean = (1.0 - chance) * mean + chance * after
    return mean


def main():
    if len(sys.argv) != 3:
        print("usage: twin.py ATTEMPT.json TOUCHES.csv", file=sys.stderr)
        sys.exit(2)
    attempt, rows = read(sys.argv[1], sys.argv[2])
    sites = [site["id"] for site in attempt["sites"]] + SINKS
    index = {site: n for n, site in enumerate(sites)}
    start = np.array([site["start"] for site in attempt["sites"]] + [0, 0])
    totals = attempt["totals"]
    end = np.array(
        [site["end"] for site in attempt["sites"]] + [totals["inactivated"], totals["washed_away"]]
    )
    for number, row in enumerate(rows, start=1):
        for column in ("site_a", "site_b"):
            if row[column] not in index:
                fail(f"event {number}: {column} is `{row[column]}`, which is no site of the attempt")

    check_probabilities(rows, {site["id"]: site["area_cm2"] for site in attempt["sites"]})

    counts = moved(rows, index, start)
    for n in np.flatnonzero(counts != end):
        fail(f"`{sites[n]}` ends with {end[n]} by the JSON, but with {counts[n]} by the touches in the CSV")

    mean = expected(rows, index, start)
    lost = abs(mean.sum() - start.sum())
    if lost > 1e-9 * max(1.0, float(start.sum())):
        fail(f"the expectation ends with {mean.sum()} of {start.sum()}: something was lost or created")

    print("site,start,end,expected")
    for n, site in enumerate(sites):
        if start[n] or end[n] or mean[n] > 0.0:
            print(f"{site},{start[n]},{end[n]},{float(mean[n])!r}")
    difference = np.abs(end - mean)
    # A Poisson scale is too small where efficiencies and happenings vary as well, so this is a look, not a verdict.
    scaled = difference / np.sqrt(np.maximum(mean, 1.0))
    worst = int(scaled.argmax())
    print(
        f"twin: {len(rows)} events, end counts equal on all {len(attempt['sites'])} sites; furthest from its mean is "
        f"`{sites[worst]}`: {end[worst]} where {mean[worst]:.3f} is expected",
        file=sys.stderr,
    )


if __name__ == "__main__":
    main()
