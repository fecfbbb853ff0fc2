#!/usr/bin/env python3
"""Posteriors of the networks beside this script by a general-purpose library.

    pip install pyagrum==3.3.1   (any recent version will do)
    python3 tests/data/inference/posteriors.py

Reads every case-*.json beside it: {"network": as `knowledge export` writes it, "evidence": {id: weights}}.
Rebuilds the network from the definition alone (a fault is absent with probability (1-leak) times the
product of (1-strength) over its causes that hold; an observation is the largest of independent draws), and
writes posteriors.json.
"""

import glob
import itertools
import json
import os

import pyagrum as gum

HERE = os.path.dirname(os.path.abspath(__file__))


def holds(cause, states, values):
    value = values[cause["parent"]]
    return value == 1 if cause["state"] is None else states[cause["parent"]][value] == cause["state"]


def largest(one, other):
    out = [0.0] * len(one)
    for i, p in enumerate(one):
        for k, q in enumerate(other):
            out[max(i, k)] += p * q
    return out


def build(network):
    net = gum.BayesNet()
    states = {f["id"]: f["states"] for f in network["factors"]}
    states.update({f["id"]: ["absent", "present"] for f in network["faults"]})
    states.update({o["id"]: o["states"] for o in network["observations"]})
    for name, labels in states.items():
        net.add(gum.LabelizedVariable(name, name, [f"{i}-{label}" for i, label in enumerate(labels)]))
    for factor in network["factors"]:
        net.cpt(factor["id"]).fillWith(factor["prior"])
    for child in network["faults"] + network["observations"]:
        parents = list(dict.fromkeys(cause["parent"] for cause in child["causes"]))
        for parent in parents:
            net.addArc(parent, child["id"])
        for combination in itertools.product(*(range(len(states[p])) for p in parents)):
            values = dict(zip(parents, combination))
            if "strength" in (child["causes"] or [{}])[0] or not isinstance(child["leak"], list):
                absent = 1.0 - child["leak"]
                for cause in child["causes"]:
                    if holds(cause, states, values):
                        absent *= 1.0 - cause["strength"]
                row = [absent, 1.0 - absent]
            else:
                row = child["leak"]
                for cause in child["causes"]:
                    if holds(cause, states, values):
                        row = largest(row, cause["effect"])
            net.cpt(child["id"])[values] = row
    return net


def main():
    out = {"library": "pyAgrum (LazyPropagation)", "version": gum.__version__, "cases": {}}
    for path in sorted(glob.glob(os.path.join(HERE, "case-*.json"))):
        with open(path) as file:
            case = json.load(file)
        network = case["network"]
        engine = gum.LazyPropagation(build(network))
        engine.setEvidence(case["evidence"])
        wanted = [v["id"] for v in network["factors"] + network["faults"]]
        wanted += [o["id"] for o in network["observations"] if o["id"] not in case["evidence"]]
        for name in wanted:
            engine.addTarget(name)
        engine.makeInference()
        out["cases"][os.path.basename(path)] = {
            "evidence": engine.evidenceProbability(),
            "posteriors": {name: engine.posterior(name).tolist() for name in wanted},
        }
    with open(os.path.join(HERE, "posteriors.json"), "w") as file:
        json.dump(out, file, indent=1)
        file.write("\n")


if __name__ == "__main__":
    main()
