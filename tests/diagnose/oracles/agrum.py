"""The same networks in pyAgrum, built in code.

Two traps: its BIF reader keeps single precision, so nets are built and not loaded; and
``addNoisyOR`` is the compound-leak convention, ``addNoisyORNet`` the net one, which is ours.
"""

import numpy as np
import pyagrum as gum


def noisy_or(net, *, compound=False):
    """Build a net with noisy-OR nodes; causes are c0, c1, ..., findings f0, f1, ..."""
    bn = gum.BayesNet()
    for c, p in enumerate(net.prior):
        bn.add(gum.LabelizedVariable(f"c{c}", "", 2))
        bn.cpt(f"c{c}")[:] = [1.0 - p, p]
    add = bn.addNoisyORCompound if compound else bn.addNoisyORNet
    for f, leak in enumerate(net.leak):
        add(gum.LabelizedVariable(f"f{f}", "", 2), float(leak))
        for c in np.flatnonzero(net.q[:, f]):
            bn.addWeightedArc(f"c{c}", f"f{f}", float(net.q[c, f]))
    return bn


def posteriors(bn, evidence, names):
    """Chance that each of the named variables is there, by lazy propagation.

    `evidence` maps names to 0, 1, or a pair of likelihoods (off, on).
    """
    engine = gum.LazyPropagation(bn)
    engine.setTargets(set(names))  # else it would work out every unobserved finding as well
    engine.setEvidence({k: list(v) if np.ndim(v) else int(v) for k, v in evidence.items()})
    engine.makeInference()
    return [float(engine.posterior(name)[1]) for name in names]


def asia():
    """The chest clinic of Lauritzen and Spiegelhalter (1988), built in double precision."""
    bn = gum.fastBN(
        "asia->tub->either->xray;smoke->lung->either;smoke->bronc->dysp;either->dysp", 2
    )
    bn.cpt("asia")[:] = [0.99, 0.01]
    bn.cpt("smoke")[:] = [0.5, 0.5]
    for child, parent, no, yes in (
        ("tub", "asia", 0.01, 0.05),
        ("lung", "smoke", 0.01, 0.1),
        ("bronc", "smoke", 0.3, 0.6),
        ("xray", "either", 0.05, 0.98),
    ):
        bn.cpt(child)[{parent: 0}] = [1.0 - no, no]
        bn.cpt(child)[{parent: 1}] = [1.0 - yes, yes]
    for tub in (0, 1):
        for lung in (0, 1):
            on = float(tub or lung)
            bn.cpt("either")[{"tub": tub, "lung": lung}] = [1.0 - on, on]
    for (either, bronc), p in ASIA_DYSPNOEA.items():
        bn.cpt("dysp")[{"either": either, "bronc": bronc}] = [1.0 - p, p]
    return bn


ASIA_DYSPNOEA = {(0, 0): 0.1, (0, 1): 0.8, (1, 0): 0.7, (1, 1): 0.9}
