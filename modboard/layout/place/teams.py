"""Moves of several parts at once: a part with some of its neighbours steps aside, two like circuits change places.

Part by part neither is easily done, since half way everything is stretched.  Like circuits are found as they are
needed, by walking from two parts of one kind over small nets as long as both sides meet the same.
"""

from __future__ import annotations

from typing import Any

from modboard.layout.place.kernels import Nets, Problem, State, compiled, draw
from modboard.layout.place.moves import accept, middle, site_near, weigh_move

TEAM = 8  # parts at most on either side of an exchange
SMALL_NET = 4  # pins; a net with more says little of what belongs together
TRIES = 3  # draws for each part of a team that is to step aside
WHO, VARIANT, SITE = 0, 1, 2  # rows of `State.team`


@compiled
def make(p: Problem, s: State, count: int) -> Any:
    """Make the moves of the team one by one and return (growth of overlap, growth of the rest).

    The team then holds what takes them back, last first.
    """
    team, over, soft = s.team, 0.0, 0.0
    for k in range(count):
        a = team[WHO, k]
        v, site = s.variant[a], s.at[a]
        s.move[0], s.move[1], s.move[2], s.move[3] = a, team[VARIANT, k], team[SITE, k], -1
        o, q = weigh_move(p, s)
        accept(p, s)
        over += o
        soft += q
        team[VARIANT, k], team[SITE, k] = v, site
    for k in range(count // 2):
        other = count - 1 - k
        for row in range(3):
            team[row, k], team[row, other] = team[row, other], team[row, k]
    return over, soft


@compiled
def in_team(team: Any, count: int, part: int) -> Any:
    """Tell whether a part is in the team already."""
    found = False
    for k in range(count):
        found = found or team[WHO, k] == part
    return found


@compiled
def draw_kin(p: Problem, s: State) -> int:
    """Draw a part and up to seven more that small nets or wishes tie to it; return how many."""
    nets, team = p.nets, s.team
    team[WHO, 0] = p.places.movable[draw(s.random, len(p.places.movable))]
    count, size = 1, 2 + draw(s.random, TEAM - 1)
    for _ in range(TRIES * size):
        a = team[WHO, draw(s.random, count)]
        touching = nets.touch_first[a + 1] - nets.touch_first[a]
        if count == size or touching == 0:
            break
        net = nets.touch[nets.touch_first[a] + draw(s.random, touching)]
        pins = nets.first[net + 1] - nets.first[net]
        b = nets.part[nets.pin[nets.first[net] + draw(s.random, pins)]]
        if pins <= SMALL_NET and p.places.free[b] and not in_team(team, count, b):
            team[WHO, count] = b
            count += 1
    return count


@compiled
def draw_step(p: Problem, s: State, window: float) -> int:
    """Draw parts that belong together and one step within `window` mm for all; return how many, 0 for none."""
    places, team = p.places, s.team
    count = draw_kin(p, s)
    if count == 1:
        return 0
    pitch = places.map_frame[places.variant_map[s.variant[team[WHO, 0]]], 2]
    reach = max(1, int(window / pitch))
    dx = (draw(s.random, 2 * reach + 1) - reach) * pitch
    dy = (draw(s.random, 2 * reach + 1) - reach) * pitch
    for k in range(count):
        v, at = s.variant[team[WHO, k]], s.at[team[WHO, k]]
        site = site_near(places, v, places.site[at, 0] + dx, places.site[at, 1] + dy)
        if site < 0:
            return 0
        team[VARIANT, k], team[SITE, k] = v, site
    return count


@compiled
def land_on(nets: Nets, net: int, part: int) -> int:
    """Return the first land of a part that is on a net, counted from the part's first; -1 if none is."""
    for k in range(nets.first[net], nets.first[net + 1]):
        if nets.part[nets.pin[k]] == part:
            return int(nets.pin[k] - nets.pin_first[part])
    return -1


@compiled
def like_net(nets: Nets, net: int, a: int, b: int) -> int:
    """Return the net that is to part `b` what `net` is to part `a`, with as many pins; -1 if it has none."""
    land, pins = land_on(nets, net, a), nets.first[net + 1] - nets.first[net]
    for k in range(nets.touch_first[b], nets.touch_first[b + 1]):
        other = nets.touch[k]
        alike = nets.first[other + 1] - nets.first[other] == pins and nets.crowds[other] == nets.crowds[net]
        if alike and other != net and land_on(nets, other, b) == land:
            return int(other)
    return -1


@compiled
def like_part(p: Problem, team: Any, count: int, other: int, part: int, land: int) -> int:
    """Return the part on net `other` that is of the kind of `part`, meets it with the same land and may join; or -1."""
    nets, kind = p.nets, p.yards.kind
    for k in range(nets.first[other], nets.first[other + 1]):
        b = nets.part[nets.pin[k]]
        alike = kind[b] == kind[part] and nets.pin[k] - nets.pin_first[b] == land
        if alike and b != part and p.places.free[b] and not in_team(team, count, b):
            return int(b)
    return -1


@compiled
def draw_exchange(p: Problem, s: State) -> int:
    """Draw two parts of one kind that change places with all that hangs on both alike; return how many, 0 for none."""
    nets, free, team = p.nets, p.places.free, s.team
    a = p.places.movable[draw(s.random, len(p.places.movable))]
    b = p.places.movable[draw(s.random, len(p.places.movable))]
    if a == b or p.yards.kind[a] != p.yards.kind[b]:
        return 0
    team[WHO, 0], team[WHO, 1] = a, b
    count, done = 2, 0
    while done < count:
        a, b = team[WHO, done], team[WHO, done + 1]
        done += 2
        for i in range(nets.touch_first[a], nets.touch_first[a + 1]):
            net = nets.touch[i]
            other = like_net(nets, net, a, b) if nets.first[net + 1] - nets.first[net] <= SMALL_NET else -1
            for k in range(nets.first[net], nets.first[net + 1] if other >= 0 else nets.first[net]):
                c = nets.part[nets.pin[k]]
                if count == 2 * TEAM or not free[c] or in_team(team, count, c):
                    continue
                d = like_part(p, team, count, other, c, nets.pin[k] - nets.pin_first[c])
                if d >= 0:
                    team[WHO, count], team[WHO, count + 1] = c, d
                    count += 2
    if count < 4:
        return 0  # two parts alone: `propose` swaps these
    for k in range(0, count, 2):
        if not exchanged(p, s, k, k + 1) or not exchanged(p, s, k + 1, k):
            return 0
    return count


@compiled
def exchanged(p: Problem, s: State, k: int, other: int) -> Any:
    """Send team member `k` to where `other` stands, turned like it; False if it cannot."""
    places, team, rect = p.places, s.team, p.yards.rect
    a, b = team[WHO, k], team[WHO, other]
    v = s.variant[b] - places.variant_first[b] + places.variant_first[a]
    if v >= places.variant_first[a + 1]:
        return False
    ax, ay = middle(rect, v)
    bx, by = middle(rect, s.variant[b])
    x, y = places.site[s.at[b], 0], places.site[s.at[b], 1]
    team[VARIANT, k], team[SITE, k] = v, site_near(places, v, x + bx - ax, y + by - ay)
    return team[SITE, k] >= 0
