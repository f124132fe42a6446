"""The same model in a general-purpose probabilistic library with Markov chains: python benchmarks/sampler.py

One line, 5 versions, 30 changes in four blocks, 20,000 serials, 40 survivors: where was each change cut in? The model
is written in numpyro for two of its samplers:

NUTS : the ends of the four windows as continuous positions, 2 x 4 ordered numbers. Whether a block was made at one
    stroke, and every cut-in inside its window, are summed out by hand, which leaves the sampler eight dimensions
    without a discrete one. Cut-ins are drawn afterwards, given the windows.
AIES : the same density, with an ensemble of 64 walkers, which takes no gradients and so does not mind that the evidence
    jumps at every survivor.

Summing out is more than a user of such a library would normally write; everything not summed out makes it slower.

That the posterior is the same is checked at five quantiles of each cut-in: the sampler's share of draws below it
against our exact probability, in Monte Carlo standard errors. Then times to the same effective sample size: ours is
that of as many independent draws from the exact chain, the chain itself included. Compiling and warming up the
samplers do not count. "Slowest" is the cut-in with the least effective draws: an answer holds for all of them.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from dataclasses import dataclass

import jax
import jax.numpy as jnp
import numpy as np
import numpyro
import numpyro.distributions as dist
from common import about_the_machine, family_of_size, seconds
from numpyro.diagnostics import effective_sample_size, split_gelman_rubin
from numpyro.infer import AIES, MCMC, NUTS, init_to_uniform

from setwright.identity.assumptions import Assumptions
from setwright.identity.chain import build_chain
from setwright.identity.drawn.chains import draw_histories
from setwright.identity.drawn.fine import fine_steps
from setwright.identity.evidence import Steps, gather, place_edges, steps_of_line
from setwright.identity.groundwork import CELLS_PLACE_KNOWN
from setwright.identity.history import read_history
from setwright.identity.items import ItemCutIns, cut_ins_from_items
from setwright.identity.places import axis_of
from setwright.identity.simulate import draw_production, draw_sets, survivors_of

SERIALS, FEATURES, VERSIONS, SURVIVORS = 20_000, 30, 5, 40
QUANTILES = (0.05, 0.25, 0.5, 0.75, 0.95)


@dataclass(frozen=True)
class Problem:
    """One register: the evidence for each cut-in as a step function, and what our own code needs."""

    steps: Steps
    sizes: tuple[int, ...]
    edges: np.ndarray

    @property
    def ends(self) -> np.ndarray:
        return self.steps.ends.astype(float)


def make_problem(seed: int) -> Problem:
    family = family_of_size(FEATURES, VERSIONS, SERIALS)
    rng = np.random.default_rng(seed)
    production = draw_production(family, rng)
    survivors = survivors_of(draw_sets(production, SURVIVORS, rng))
    line = read_history(family).lines[0]
    axis = axis_of(family, line.line, survivors.position)
    steps = steps_of_line(family, line, axis, survivors, Assumptions())
    sizes = tuple(len(block) for block in line.blocks)
    return Problem(steps, sizes, place_edges(steps, sizes, axis, CELLS_PLACE_KNOWN, np.empty(0, dtype=np.int64)))


def items_of(problem: Problem) -> tuple[np.ndarray, np.ndarray]:
    """The steps as items again: each rise of the evidence stands at the survivor before it."""
    return problem.steps.ends[:-1], np.diff(problem.steps.levels, axis=1)


# --- the model in numpyro


def model(ends: jnp.ndarray, levels: tuple[jnp.ndarray, ...], kappa: float) -> None:
    """The windows' ends as the partial sums of uniformly distributed gaps, times the evidence of every block.

    A block at one stroke uses the start of its window; its end is then a number without meaning between that
    start and the next one, and is given the density that makes it integrate to 1.
    """
    blocks, count = len(levels), SERIALS
    gaps = numpyro.sample("gaps", dist.Dirichlet(jnp.ones(2 * blocks + 1)))
    points = jnp.cumsum(gaps)[:-1] * count
    starts, stops = points[0::2], points[1::2]
    following = jnp.append(starts[1:], float(count))
    for j, evidence in enumerate(levels):
        stroke = jnp.log(kappa * count) + _at(evidence, ends, starts[j]).sum()
        stroke -= jnp.log(following[j] - starts[j])
        spread = jnp.log((1.0 - kappa) / (count - 1.0)) + _log_means(evidence, ends, starts[j], stops[j]).sum()
        # Both are densities on positions 0 … count; the common factor of the gaps' prior does not matter.
        numpyro.factor(f"block {j}", jnp.logaddexp(stroke, spread + jnp.log(float(count))))


def _at(evidence: jnp.ndarray, ends: jnp.ndarray, position: jnp.ndarray) -> jnp.ndarray:
    return evidence[:, jnp.minimum(jnp.searchsorted(ends, position), len(ends) - 1)]


def _overlaps(ends: jnp.ndarray, start: jnp.ndarray, stop: jnp.ndarray) -> jnp.ndarray:
    """(steps,) how much of each step lies in the window."""
    begins = jnp.append(0.0, ends[:-1])
    return jnp.maximum(jnp.minimum(ends, stop) - jnp.maximum(begins, start), 0.0)


def _log_means(evidence: jnp.ndarray, ends: jnp.ndarray, start: jnp.ndarray, stop: jnp.ndarray) -> jnp.ndarray:
    """(m,) log of the mean evidence of each change in the window.

    The evidence does not depend on the sampler's state, so the exponential is taken once: compiled away.
    """
    top = evidence.max(axis=1)
    return top + jnp.log(jnp.exp(evidence - top[:, None]) @ _overlaps(ends, start, stop) / (stop - start))


def cut_ins_given(
    points: jnp.ndarray, key: jnp.ndarray, ends: jnp.ndarray, levels: tuple[jnp.ndarray, ...], kappa: float
) -> jnp.ndarray:
    """One draw of all cut-ins given the windows' ends (in positions)."""
    starts, stops = points[0::2], points[1::2]
    following = jnp.append(starts[1:], float(SERIALS))
    begins = jnp.append(0.0, ends[:-1])
    drawn = []
    for j, evidence in enumerate(levels):
        key, choose, step_key, place_key = jax.random.split(key, 4)
        stroke = jnp.log(kappa * SERIALS) + _at(evidence, ends, starts[j]).sum() - jnp.log(following[j] - starts[j])
        spread = jnp.log((1.0 - kappa) / (SERIALS - 1.0) * SERIALS)
        spread += _log_means(evidence, ends, starts[j], stops[j]).sum()
        at_once = jnp.log(jax.random.uniform(choose)) < stroke - jnp.logaddexp(stroke, spread)
        overlaps = jnp.log(_overlaps(ends, starts[j], stops[j]))
        step = jax.random.categorical(step_key, evidence + overlaps, axis=1)
        low, high = jnp.maximum(begins, starts[j])[step], jnp.minimum(ends, stops[j])[step]
        inside = low + (high - low) * jax.random.uniform(place_key, step.shape)
        drawn.append(jnp.where(at_once, starts[j], inside))
    return jnp.ceil(jnp.concatenate(drawn))


@dataclass(frozen=True)
class Sampler:
    """How one of the library's samplers is run; `keep_every` thins what it returns."""

    name: str
    kernel: Callable[[], object]
    chains: int
    together: bool
    warm_up: int
    draws: int
    keep_every: int


NUTS_RUN = Sampler("NUTS", lambda: NUTS(model, init_strategy=init_to_uniform(radius=1.0)), 4, False, 500, 500, 1)
AIES_RUN = Sampler(
    "AIES",
    lambda: AIES(
        model,
        moves={AIES.DEMove(): 0.5, AIES.StretchMove(): 0.5},
        init_strategy=init_to_uniform(radius=1.0),
    ),
    chains=64,
    together=True,
    warm_up=4000,
    draws=20_000,
    keep_every=20,
)


@dataclass(frozen=True)
class SamplerRun:
    """cut_ins : (chains, draws, m). time : seconds of sampling; before : of warming up, compiling and a trial run."""

    name: str
    cut_ins: np.ndarray
    time: float
    before: float
    effective: np.ndarray
    r_hat: float

    @property
    def slowest(self) -> float:
        """Effective draws a second of the cut-in that has the least."""
        return float(self.effective.min()) / self.time


def run_sampler(sampler: Sampler, problem: Problem) -> SamplerRun:
    levels = tuple(jnp.asarray(part) for part in np.split(problem.steps.levels, np.cumsum(problem.sizes)[:-1]))
    arguments = (jnp.asarray(problem.ends), levels, Assumptions().one_stroke)
    mcmc = MCMC(
        sampler.kernel(),
        num_warmup=sampler.warm_up,
        num_samples=sampler.draws,
        thinning=sampler.keep_every,
        num_chains=sampler.chains,
        chain_method="vectorized" if sampler.together else "sequential",
        progress_bar=False,
    )
    after = jax.jit(jax.vmap(lambda gaps, key: cut_ins_given(jnp.cumsum(gaps)[:-1] * SERIALS, key, *arguments)))
    kept = sampler.chains * (sampler.draws // sampler.keep_every)
    start = time.perf_counter()
    mcmc.warmup(jax.random.PRNGKey(1), *arguments)
    # A first run compiles what the second one uses.
    mcmc.run(jax.random.PRNGKey(2), *arguments)
    after(mcmc.get_samples()["gaps"], jax.random.split(jax.random.PRNGKey(3), kept)).block_until_ready()
    warmed = time.perf_counter()
    mcmc.run(jax.random.PRNGKey(4), *arguments)
    gaps = mcmc.get_samples()["gaps"]
    cut_ins = after(gaps, jax.random.split(jax.random.PRNGKey(5), kept)).block_until_ready()
    done = time.perf_counter()
    grouped = np.asarray(cut_ins).reshape(sampler.chains, kept // sampler.chains, -1)
    columns = [grouped[:, :, e] for e in range(grouped.shape[2])]
    effective = np.array([min(effective_sample_size(column), kept) for column in columns])
    r_hat = max(float(split_gelman_rubin(column)) for column in columns)
    return SamplerRun(sampler.name, grouped, done - warmed, warmed - start, effective, r_hat)


# --- the comparison


def deviations(cut_ins: np.ndarray, edges: np.ndarray, mass: np.ndarray) -> np.ndarray:
    """(m, quantiles) share of draws below less exact probability, in standard errors; ends of cells only."""
    z = np.zeros((len(mass), len(QUANTILES)))
    for e, row in enumerate(mass):
        cumulative = np.cumsum(row)
        for i, q in enumerate(QUANTILES):
            cell = min(int(np.searchsorted(cumulative, q)), len(row) - 1)
            exact = cumulative[cell]
            below = (cut_ins[:, :, e] <= edges[cell + 1]).astype(float)
            if not 0.001 < exact < 0.999:
                z[e, i] = np.nan
                continue
            effective = effective_sample_size(below) if below.std() > 0.0 else below.size
            z[e, i] = (below.mean() - exact) / np.sqrt(exact * (1.0 - exact) / min(effective, below.size))
    return z


def describe(z: np.ndarray) -> str:
    known = np.abs(z[~np.isnan(z)])
    return (
        f"{len(known)} quantiles: {np.sqrt((known**2).mean()):.2f} standard errors (root mean square), largest "
        f"{known.max():.1f}, {100 * (known > 2).mean():.0f} % above 2"
    )


def exact_draws(problem: Problem, count: int) -> np.ndarray:
    """(1, count, m) independent draws, from the register's evidence on."""
    chain = build_chain(gather(problem.steps, problem.sizes, problem.edges), problem.sizes, Assumptions().one_stroke)
    rng = np.random.default_rng(7)
    fine = fine_steps(problem.steps, problem.edges)
    drawn = draw_histories(chain, count, rng, lambda changes, cell: fine.place(fine.levels[changes].sum(0), cell, rng))
    return drawn.cut_in[None]


def median_seconds(run: Callable[[], object], times: int = 9) -> float:
    run()
    return float(np.median([seconds(run) for _ in range(times)]))


def compare(seed: int, samplers: list[Sampler]) -> tuple[float, float]:
    """Prints one comparison; returns how many times faster ours is, for the slowest and for the median cut-in."""
    problem = make_problem(seed)
    positions, log_ratios = items_of(problem)

    def exact() -> ItemCutIns:
        return cut_ins_from_items(positions, log_ratios, 1, SERIALS, block_sizes=problem.sizes)

    found = exact()
    own = deviations(exact_draws(problem, 10_000), found.edges, found.mass)
    print(f"Register {seed}. Ours: every cut-in exactly (512 cells) in {1000 * median_seconds(exact):.0f} ms")
    print(f"  10,000 independent draws against exact: {describe(own)}")
    runs = [run_sampler(sampler, problem) for sampler in samplers]
    for run in runs:
        kept, least, middle = run.cut_ins[:, :, 0].size, run.effective.min(), np.median(run.effective)
        print(f"  {run.name}: {kept:,} draws kept in {run.time:.1f} s (before that {run.before:.0f} s)")
        print(f"    R-hat at most {run.r_hat:.3f}; effective draws {least:,.0f} (slowest), {middle:,.0f} (median)")
        print(f"    against exact: {describe(deviations(run.cut_ins, found.edges, found.mass))}")
    best = max(runs, key=lambda run: run.slowest)
    ratios = []
    for name, count in (("slowest", int(best.effective.min())), ("median", int(np.median(best.effective)))):
        ours = median_seconds(lambda count=count: exact_draws(problem, count))  # type: ignore[misc]
        ratios.append(best.time / ours)
        print(f"  {count:,} effective draws ({name} cut-in): {best.name} {best.time:.1f} s, ours {1000 * ours:.0f} ms,")
        print(f"    {best.time / ours:,.0f} times faster")
    print(flush=True)
    return ratios[0], ratios[1]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, nargs="+", default=[2, 3, 5], help="one register each")
    parser.add_argument("--without-nuts", action="store_true", help="only the sampler that was the better one")
    options = parser.parse_args()
    numpyro.enable_x64()
    numpyro.set_platform("cpu")
    print(f"{about_the_machine()}; numpyro {numpyro.__version__}, jax {jax.__version__}\n")
    samplers = [AIES_RUN] if options.without_nuts else [AIES_RUN, NUTS_RUN]
    ratios = np.array([compare(seed, samplers) for seed in options.seeds])
    slowest, median = ratios.min(axis=0)
    print("At equal effective draws of the cut-ins ours is at least so many times faster than the better sampler:")
    print(f"  {slowest:,.0f} for the slowest cut-in, {median:,.0f} for the median one")


if __name__ == "__main__":
    main()
