"""Repeats of one drill in plain vectorised NumPy, the natural alternative: all repeats of an event at once.

Reads the events of one drill that beside_numpy.rs writes, and prints the time of a repeat and how often the target was
reached; or of two, and prints the time of ten thousand repeats of both.
"""
import json
import os
import sys
import time

os.environ.setdefault("OMP_NUM_THREADS", "1")
import numpy as np  # noqa: E402  (the thread limit must come first)


def beta(rng, law, n):
    mean, sd = law
    if sd <= 0 or mean <= 0 or mean >= 1:
        return np.full(n, mean)
    size = mean * (1 - mean) / sd**2 - 1
    return rng.beta(mean * size, (1 - mean) * size, n)


def run(drill, repeats, rng):
    sources = len(drill["start"])
    counts = np.zeros((drill["sites"], repeats, sources), dtype=np.int64)
    for s, (site, amount) in enumerate(drill["start"]):
        counts[site, :, s] = amount
    happened = np.ones(repeats, dtype=bool)
    person = None
    for e in drill["events"]:
        if not e["follows"]:
            happened = rng.random(repeats) < e["chance"]
        a = counts[e["a"]]
        if e["kind"] == "removal":
            lr = np.maximum(0.0, rng.normal(e["mean"], e["sd"], repeats))
            missed = beta(rng, e["missed"], repeats)
            alive = missed * 10.0 ** (-e["partial"] * lr) + (1 - missed) * 10.0**-lr
            a -= rng.binomial(a, np.where(happened, 1 - alive, 0.0)[:, None])
            continue
        b = counts[e["b"]]
        share_a, share_b = e["share_a"], e["share_b"]
        if e["people"]:
            if person is None:
                person = rng.integers(len(e["people"]), size=repeats)
            extent = np.array(e["people"])[person] * rng.gamma(e["goes"], 1.0 / e["goes"], repeats)
            share_a, share_b = -np.expm1(-share_a * extent), -np.expm1(-share_b * extent)
        p_ab = np.where(happened, np.minimum(1.0, share_a * beta(rng, e["ab"], repeats)), 0.0)
        p_ba = np.where(happened, np.minimum(1.0, share_b * beta(rng, e["ba"], repeats)), 0.0)
        out = rng.binomial(a, p_ab[:, None])
        back = rng.binomial(b, p_ba[:, None])
        a += back - out
        b += out - back
    return counts[drill["target"]].sum(axis=(0, 2))


def one(drill, rng):
    """Seconds a repeat, the best of some rounds, and how often the target was reached."""
    run(drill, 100, rng)
    repeats, rounds = 2000, 8
    reached, seconds = [], float("inf")
    for _ in range(rounds):
        began = time.perf_counter()
        reached.append((run(drill, repeats, rng) > 0).mean())
        seconds = min(seconds, (time.perf_counter() - began) / repeats)
    return {"seconds_per_repeat": seconds, "p": float(np.mean(reached))}


def two(drills, rng):
    """Seconds for ten thousand repeats of two orders, and how often either reached the target."""
    run(drills[0], 100, rng)
    began = time.perf_counter()
    ends = [np.concatenate([run(drill, 2000, rng) for _ in range(5)]) for drill in drills]
    return {"seconds": time.perf_counter() - began, "p": [float((end > 0).mean()) for end in ends]}


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        drills = json.load(file)
    rng = np.random.default_rng(1)
    print(json.dumps(one(drills[0], rng) if len(drills) == 1 else two(drills, rng)))


if __name__ == "__main__":
    main()
