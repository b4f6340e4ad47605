"""One implicit step of heat along a chain of cells. Pure arithmetic on lists: this is where the time goes."""

from __future__ import annotations


def step(
    temps: list[float],
    heat_rate: list[float],
    links: list[float],
    pull: list[float],
    source: list[float],
) -> list[float]:
    """Temperatures after one backward Euler step.

    Cell i: heat_rate_i (T'_i - T_i) = sum of links (T'_neighbour - T'_i) - pull_i T'_i + source_i.
    temps [K], length n; heat_rate = capacity / time step [W/K]; links [W/K], n - 1, link i between cells i and i + 1;
    pull [W/K] and source [W]: what else hangs on a cell. Thomas's elimination for a symmetric chain.
    """
    n = len(temps)
    diag = [0.0] * n
    load = [0.0] * n
    link = 0.0
    d = 1.0
    b = 0.0
    last = n - 1
    for i in range(n):
        rate = heat_rate[i]
        share = link / d
        d_new = rate + pull[i] + link - share * link
        b = rate * temps[i] + source[i] + share * b
        if i < last:
            link = links[i]
            d_new += link
        d = d_new
        diag[i] = d
        load[i] = b
    new = [0.0] * n
    hot = load[last] / diag[last]
    new[last] = hot
    for i in range(last - 1, -1, -1):
        hot = (load[i] + links[i] * hot) / diag[i]
        new[i] = hot
    return new
