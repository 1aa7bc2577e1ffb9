#!/usr/bin/env python3
"""A simulated TIG shop, to see whether forecasts are calibrated and order points keep their promise (own work of
this project, seeded, numpy and scipy only). The suite that uses it is `run` beside this file; tests/README.md
says how. Every rate, price and lead time in it is invented.

Truth: for welder w, part p, day d   events ~ Poisson( skill_w * (a_p * arc_hours + b_p * grinds) ).
Arc hours follow a weekday pattern with lulls (announced on their first day) and big jobs (announced
10 days ahead); grinds are Poisson in the hours. Suppliers have random whole-day lead times.
Unmet use is back-ordered (the part is owed to the job).

  python shop_sim.py --seed 1 --out DIR     writes exposure.csv, usage_log.csv, truth.json
  python shop_sim.py --seed 1 --report      runs the policies and prints stock-out days, stock, interval coverage
  options: --history D (days of log before the policies start, default 365), --cover D (order quantity, default 30 days), --seeds N (N seeds from --seed on, totals),
           --policy 'CMD' (also runs your own policy, one process a seed, JSON lines; protocol at class External),
           --shift (part-way through, work moves to the trainee and grinding doubles: drivers and skill then matter)
"""
import argparse, csv, datetime as dt, json, math, os, shlex, subprocess
import numpy as np
from scipy import stats

HIST, EVAL = 365, 730                      # days of log before the policies start, days evaluated
SERVICE = 0.98                             # target probability of no stock-out in a replenishment cycle
COVER = 30                                 # order quantity covers this many days of expected use
START = dt.date(2022, 1, 3)                # a Monday

# name, wear per arc hour, wear per grind, pack size, unit price
PARTS = [('tungsten-1.6', .020, .0080, 10, 2.4), ('tungsten-2.4', .045, .0200, 10, 3.9), ('tungsten-3.2', .008, .0040, 10, 6.8),
         ('collet-1.6', .0060, 0, 5, 1.9), ('collet-2.4', .0110, .0010, 5, 1.9), ('collet-3.2', .0025, 0, 5, 2.1),
         ('collet-body-1.6', .0030, 0, 2, 3.6), ('collet-body-2.4', .0060, 0, 2, 3.6), ('gas-lens-1.6', .0045, 0, 2, 9.5),
         ('gas-lens-2.4', .0100, .0004, 2, 9.5), ('gas-lens-3.2', .0015, 0, 1, 11.0), ('cup-5', .0120, 0, 10, 1.6),
         ('cup-6', .0260, 0, 10, 1.6), ('cup-7', .0300, 0, 10, 1.6), ('cup-8', .0140, 0, 10, 1.8), ('lens-cup-8', .0200, 0, 5, 2.9),
         ('clear-cup-12', .0050, 0, 1, 24.0), ('back-cap-long', .0020, .0003, 2, 2.7), ('back-cap-short', .0008, 0, 2, 2.5),
         ('o-ring', .0065, .0012, 10, .4), ('insulator', .0018, 0, 2, 2.2), ('lens-insulator', .0009, 0, 1, 4.4),
         ('torch-head', .0003, 0, 1, 58.0), ('grinding-disc', 0, .0060, 1, 31.0)]
WELDERS = [('w1', 'experienced', 1.0, 4.2), ('w2', 'experienced', .9, 3.6), ('w3', 'trainee', 1.7, 2.4)]
WEEK = np.array([1.0, 1.1, 1.05, 1.0, .85, .12, 0.0])
SUPPLIERS = [('near', {1: .55, 2: .3, 3: .1, 6: .05}), ('online', {3: .3, 4: .3, 5: .2, 7: .12, 12: .06, 20: .02}),
             ('maker', {9: .2, 12: .3, 14: .25, 18: .15, 28: .07, 45: .03})]

def simulate(seed, shift=False):
    r = np.random.default_rng(seed); n = HIST + EVAL; W, P = len(WELDERS), len(PARTS)
    jitter = np.exp(r.normal(0, .35, (P, 2)))                       # each shop's true rates differ from the table
    a = np.array([p[1] for p in PARTS]) * jitter[:, 0]; b = np.array([p[2] for p in PARTS]) * jitter[:, 1]
    grind_per_hour = np.exp(r.normal(math.log(.9), .2, W)); factor = np.ones(n); known_from = np.zeros(n, int); events = []
    d = int(r.integers(40, 110))
    while d < n - 40:                                               # alternate lulls and big jobs
        length = int(r.integers(10, 26)); kind = 'big job' if r.random() < .4 else 'lull'
        factor[d:d+length] = r.uniform(2.0, 3.0) if kind == 'big job' else r.uniform(.1, .35)
        known_from[d:d+length] = d-10 if kind == 'big job' else d
        events.append(dict(kind=kind, first_day=d, days=length, factor=round(float(factor[d]), 3))); d += length + int(r.integers(60, 150))
    base = np.array([w[3] for w in WELDERS]); mean_hours = WEEK[np.arange(n+70) % 7][:, None] * base[None, :]; gph = np.tile(grind_per_hour, (n+70, 1))
    if shift:                                                       # from some day on: less work for w1, much more for the trainee, and twice the grinding
        d0 = HIST + int(np.random.default_rng(seed+5000).integers(150, 400)); mean_hours[d0:] *= np.array([.5, 1.0, 2.5]); gph[d0:] *= 2.0
        events.append(dict(kind='mix shift', first_day=d0, hours_multipliers=[.5, 1.0, 2.5], grinds_multiplier=2.0))
    hours = np.round(mean_hours[:n] * factor[:, None] * r.gamma(6, 1/6, (n, W)), 1)
    grinds = r.poisson(hours * gph[:n])
    skill = np.array([w[2] for w in WELDERS])
    mu = skill[None, :, None] * (hours[:, :, None]*a + grinds[:, :, None]*b)
    use = r.poisson(mu)                                             # day x welder x part
    sup = r.integers(0, len(SUPPLIERS), P)
    return dict(seed=seed, a=a, b=b, skill=skill, gph0=grind_per_hour, gph=gph, factor=factor, known_from=known_from, events=events, mean_hours=mean_hours,
                hours=hours, grinds=grinds, use=use, supplier=sup, n=n, rng=r)

def plan_mean(S, t, days):
    """expected use per part for days t+1..t+days as known at the end of day t (true rates)"""
    j = np.arange(t+1, t+1+days); m = S['mean_hours'][j]
    jj = np.minimum(j, S['n']-1); f = np.where(S['known_from'][jj] <= t, S['factor'][jj], 1.0)
    h = m * f[:, None]; w = h * S['skill']; g = h * S['gph'][j] * S['skill']
    return w.sum(1)[:, None]*S['a'] + g.sum(1)[:, None]*S['b']      # days x parts

def mixture_level(means, probs, q, var_mult=0.0):
    """smallest k with sum_L p_L F_L(k) >= q; NB if var_mult > 0 (variance = m + var_mult*m^2), else Poisson"""
    hi = int(max(means)*2 + 12*math.sqrt(max(means)+1) + 20); k = np.arange(hi+1); m = np.maximum(np.asarray(means)[:, None], 1e-12)
    F = stats.nbinom.cdf(k, 1/var_mult, 1/(1+var_mult*m)) if var_mult > 0 else stats.poisson.cdf(k, m)
    return int(np.searchsorted((np.asarray(probs)[:, None]*F).sum(0), q))

class Oracle:
    name = 'oracle (true rates, work plan, lead-time law)'
    def levels(self, S, t):
        pm = plan_mean(S, t, 60); cum = np.vstack([np.zeros(len(PARTS)), np.cumsum(pm, 0)]); out = []
        for p in range(len(PARTS)):
            law = SUPPLIERS[S['supplier'][p]][1]
            out.append((mixture_level([cum[L+1, p] for L in law], list(law.values()), SERVICE, .02), cum[COVER, p]))
        return out

class Naive:
    name = 'naive (90-day moving average, normal safety stock, mean lead time)'
    def levels(self, S, t):
        u = S['use'][max(0, t-89):t+1].sum(1); m, sd = u.mean(0), u.std(0, ddof=1); z = stats.norm.ppf(SERVICE); out = []
        for p in range(len(PARTS)):
            law = SUPPLIERS[S['supplier'][p]][1]; L = sum(k*v for k, v in law.items()) + 1
            out.append((math.ceil(m[p]*L + z*sd[p]*math.sqrt(L)), m[p]*COVER))
        return out

class HoursBayes:
    name = 'hours-only Gamma-Poisson (weak prior, work plan, lead-time law)'
    def levels(self, S, t):
        Hs = S['hours'][:t+1].sum(); n = S['use'][:t+1].sum((0, 1)); A, B = .5 + n, 20. + Hs
        j = np.arange(t+1, t+61); jj = np.minimum(j, S['n']-1); f = np.where(S['known_from'][jj] <= t, S['factor'][jj], 1.0)
        cum = np.concatenate([[0], np.cumsum(S['mean_hours'][j].sum(1)*f)]); out = []
        for p in range(len(PARTS)):
            law = SUPPLIERS[S['supplier'][p]][1]; e = np.array([cum[L+1] for L in law]); hi = int(A[p]/B*e.max()*3 + 60); k = np.arange(hi)
            F = (np.array(list(law.values()))[:, None]*stats.nbinom.cdf(k, A[p], (B/(B+e))[:, None])).sum(0)
            out.append((int(np.searchsorted(F, SERVICE)), A[p]/B*cum[COVER]))
        return out

class External:
    """Your policy as a process. First line to it: {"parts", "welders", "suppliers", "part_supplier", "service", "cover_days"}. Then a line for each
    evening t: {"day": t, "log": [[day, welder, arc_hours, grinds], ...] and "use": [[day, welder, part, pieces], ...] new since the last line (the first
    brings the whole history), "plan_hours": [[hours of each welder] for each of the next 60 days, as known this evening], "want_cdf": bool}.
    It answers each with one line: {"levels": [[order point, expected use over cover_days] per part]} and, where want_cdf,
    also "cdf": [[P(use of the next 30 days <= 0), <= 1, ...] per part], each as long as it likes (1 beyond its end)."""
    name = 'your policy'
    def __init__(self, cmd): self.cmd = cmd; self.proc = None; self.pit = []; self.widths = []
    def start(self, S):
        self.stop(); self.sent = -1; self.proc = subprocess.Popen(shlex.split(self.cmd), stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1)
        self.say(dict(parts=[dict(part=p[0], pack=p[3], unit_price=p[4]) for p in PARTS], welders=[dict(welder=w[0], group=w[1]) for w in WELDERS], suppliers=[dict(supplier=s, lead_time_days={str(k): v for k, v in law.items()}) for s, law in SUPPLIERS],
                      part_supplier=[int(x) for x in S['supplier']], service=SERVICE, cover_days=COVER))
    def say(self, x): self.proc.stdin.write(json.dumps(x)+'\n'); self.proc.stdin.flush()
    def stop(self):
        if self.proc: self.proc.stdin.close(); self.proc.wait(20); self.proc = None
    def levels(self, S, t):
        if t == HIST-1: self.start(S)
        d = range(self.sent+1, t+1); j = np.arange(t+1, t+61); jj = np.minimum(j, S['n']-1); f = np.where(S['known_from'][jj] <= t, S['factor'][jj], 1.0)
        ask = (t-HIST+1) % 30 == 0 and t+31 < S['n']
        self.say(dict(day=t, log=[[int(x), WELDERS[k][0], float(S['hours'][x, k]), int(S['grinds'][x, k])] for x in d for k in range(len(WELDERS)) if S['hours'][x, k] > 0],
                      use=[[int(x), WELDERS[k][0], PARTS[p][0], int(S['use'][x, k, p])] for x in d for k, p in zip(*np.nonzero(S['use'][x]))],
                      plan_hours=[[round(float(v), 4) for v in row] for row in S['mean_hours'][j]*f[:, None]], want_cdf=bool(ask)))
        self.sent = t; a = json.loads(self.proc.stdout.readline())
        if ask:
            y = S['use'][t+1:t+31].sum((0, 1)); at = lambda c, k: 0.0 if k < 0 else (c[k] if k < len(c) else 1.0)
            for p, c in enumerate(a['cdf']):
                f0, f1 = at(c, int(y[p])-1), at(c, int(y[p])); self.pit.append(max(0.0, min(f1, .95)-max(f0, .05))/max(f1-f0, 1e-300))
        return [tuple(l) for l in a['levels']]

def run(S, pol):
    P = len(PARTS); r = np.random.default_rng(S['seed']+10_000); need = S['use'].sum(1); stock = None; pipe = [[] for _ in range(P)]
    res = dict(out_days=0, short_units=0, stock_units=0.0, stock_value=0.0, orders=0, used=0, zero_days=0, big_job_out_days=0); per = np.zeros(P, int); owed = np.zeros(P, int)
    price = np.array([p[4] for p in PARTS]); cycles = np.zeros(P, int); bad = np.zeros(P, int); cyc_bad = np.zeros(P, bool)
    for t in range(HIST-1, HIST+EVAL-1):
        lv = pol.levels(S, t)
        if stock is None: stock = np.array([max(1, l[0]) + math.ceil(max(l[1], 1)/PARTS[p][3])*PARTS[p][3]//2 for p, l in enumerate(lv)])
        for p in range(P):                                          # review at the end of day t
            pos = stock[p] - owed[p] + sum(q for _, q in pipe[p])
            if pos <= lv[p][0]:
                pk = PARTS[p][3]; q = math.ceil(max(lv[p][1], lv[p][0]+1-pos, 1)/pk)*pk; law = SUPPLIERS[S['supplier'][p]][1]
                L = int(r.choice(list(law), p=list(law.values()))); pipe[p].append((t+1+L, q)); res['orders'] += 1
        d = t+1                                                     # next day: arrivals in the morning, then use
        for p in range(P):
            arr = sum(q for x, q in pipe[p] if x == d); pipe[p] = [(x, q) for x, q in pipe[p] if x > d]
            if arr: cycles[p] += 1; bad[p] += cyc_bad[p]; cyc_bad[p] = False; stock[p] += arr
            pay = min(stock[p], owed[p]); stock[p] -= pay; owed[p] -= pay
            give = min(stock[p], need[d, p]); short = need[d, p] - give; stock[p] -= give; owed[p] += short
            res['used'] += need[d, p]; res['short_units'] += short
            if short or owed[p]: res['out_days'] += 1; res['big_job_out_days'] += int(S['factor'][d] > 1); per[p] += 1; cyc_bad[p] = True
            if stock[p] == 0: res['zero_days'] += 1
        res['stock_units'] += stock.sum()/EVAL; res['stock_value'] += float((stock*price).sum())/EVAL
    res['fill_rate'] = 1 - res['short_units']/res['used']; res['cycle_service'] = 1 - bad.sum()/max(1, cycles.sum()); res['part_days'] = P*EVAL; res['worst_parts'] = sorted(((int(v), PARTS[p][0]) for p, v in enumerate(per)), reverse=True)[:4]
    return res

def coverage(S, horizon=30):
    """shares over (origin, part): use inside the integer central 90% interval, use <= 95% level, mean width, and the
    discreteness-free share (probability transform spread over each integer step) whose target is exactly 0.90"""
    hit = {k: [] for k in ('oracle, plan', 'oracle, actual exposure', 'hours Gamma-Poisson, plan', 'hours Gamma-Poisson, actual hours', 'normal from 90-day history')}
    for t in range(HIST-1, S['n']-horizon-1, 30):
        y = S['use'][t+1:t+1+horizon].sum((0, 1)); m1 = plan_mean(S, t, horizon).sum(0)
        h, g = S['hours'][t+1:t+1+horizon], S['grinds'][t+1:t+1+horizon]; m2 = (h*S['skill']).sum()*S['a'] + (g*S['skill']).sum()*S['b']
        A = .5 + S['use'][:t+1].sum((0, 1)); B = 20. + S['hours'][:t+1].sum()
        j = np.arange(t+1, t+1+horizon); f = np.where(S['known_from'][j] <= t, S['factor'][j], 1.0); e1 = float((S['mean_hours'][j].sum(1)*f).sum()); e2 = float(h.sum())
        u = S['use'][max(0, t-89):t+1].sum(1); mn, sd = u.mean(0)*horizon, u.std(0, ddof=1)*math.sqrt(horizon)
        nb = lambda n, p: (lambda k: stats.nbinom.cdf(k, n, p), stats.nbinom.ppf(.05, n, p), stats.nbinom.ppf(.95, n, p))
        sd1 = np.maximum(sd, 1e-9)
        for key, (F, lo, hi) in (('oracle, plan', nb(50, 1/(1+m1/50))), ('oracle, actual exposure', (lambda k: stats.poisson.cdf(k, m2), stats.poisson.ppf(.05, m2), stats.poisson.ppf(.95, m2))),
                                 ('hours Gamma-Poisson, plan', nb(A, B/(B+e1))), ('hours Gamma-Poisson, actual hours', nb(A, B/(B+e2))),
                                 ('normal from 90-day history', (lambda k: stats.norm.cdf((k+.5-mn)/sd1), mn-1.6449*sd, mn+1.6449*sd))):
            f0, f1 = F(y-1), F(y); pit = np.clip(np.minimum(f1, .95)-np.maximum(f0, .05), 0, None)/np.maximum(f1-f0, 1e-300)
            hit[key].append(np.stack([(y >= lo) & (y <= hi), y <= hi, hi-lo, pit]))
    return {k: [round(float(np.mean([x[i] for x in v])), 4) for i in range(4)] + [len(v)*len(PARTS)] for k, v in hit.items()}

def write(S, out):
    os.makedirs(out, exist_ok=True); day = lambda d: (START+dt.timedelta(days=int(d))).isoformat()
    with open(f'{out}/exposure.csv', 'w', newline='') as fh:
        w = csv.writer(fh); w.writerow(['date', 'welder', 'skill', 'arc_hours', 'grinds'])
        for d in range(S['n']):
            for k, wd in enumerate(WELDERS):
                if S['hours'][d, k] > 0: w.writerow([day(d), wd[0], wd[1], S['hours'][d, k], S['grinds'][d, k]])
    with open(f'{out}/usage_log.csv', 'w', newline='') as fh:
        w = csv.writer(fh); w.writerow(['date', 'welder', 'part', 'quantity'])
        for d, k, p in zip(*np.nonzero(S['use'])): w.writerow([day(d), WELDERS[k][0], PARTS[p][0], S['use'][d, k, p]])
    truth = dict(seed=S['seed'], first_day=START.isoformat(), days=S['n'], history_days=HIST, welders=[dict(welder=w[0], level=w[1], skill_factor=w[2], mean_weekday_hours=w[3], grinds_per_hour=float(g)) for w, g in zip(WELDERS, S['gph0'])],
                 parts=[dict(part=p[0], per_arc_hour=float(S['a'][i]), per_grind=float(S['b'][i]), pack=p[3], unit_price=p[4], supplier=SUPPLIERS[S['supplier'][i]][0]) for i, p in enumerate(PARTS)],
                 suppliers=[dict(supplier=s, lead_time_days={str(k): v for k, v in law.items()}) for s, law in SUPPLIERS], work_events=S['events'])
    json.dump(truth, open(f'{out}/truth.json', 'w'), indent=1)

if __name__ == '__main__':
    ap = argparse.ArgumentParser(); ap.add_argument('--seed', type=int, default=1); ap.add_argument('--seeds', type=int, default=1); ap.add_argument('--history', type=int, default=HIST); ap.add_argument('--cover', type=int, default=COVER)
    ap.add_argument('--shift', action='store_true'); ap.add_argument('--out'); ap.add_argument('--policy'); ap.add_argument('--report', action='store_true'); A = ap.parse_args(); HIST, COVER = A.history, A.cover
    runs = [simulate(A.seed+i, A.shift) for i in range(A.seeds)]
    if A.out: write(runs[0], A.out)
    if A.report:
        print(f"seeds {A.seed}..{A.seed+A.seeds-1}: {len(PARTS)} parts, {HIST} days of history, {EVAL} evaluated days each, cover {COVER} days, shift {A.shift}, {sum(int(S['use'][HIST:].sum()) for S in runs)} pieces used, target {SERVICE:.0%} per cycle")
        own = [External(A.policy)] if A.policy else []
        for pol in [Oracle(), HoursBayes(), Naive()] + own:
            R = [run(S, pol) for S in runs]; tot = lambda k: sum(x[k] for x in R); av = lambda k: tot(k)/len(R)
            print(f"{pol.name}\n   part-days short {tot('out_days')} of {tot('part_days')} ({tot('out_days')/tot('part_days'):.3%}; {tot('big_job_out_days')} of them in big jobs), pieces short {tot('short_units')} (fill rate {1-tot('short_units')/tot('used'):.5f}), cycles without shortage {av('cycle_service'):.4f}, average stock {av('stock_units'):.1f} pieces / {av('stock_value'):.0f} money, orders {av('orders'):.0f}, worst {R[0]['worst_parts']}")
        cs = [coverage(S) for S in runs]; print('next-30-day use: inside central 90% | at or below 95% level | mean width | discreteness-free share (target 0.90) | (origin, part) pairs')
        for k in cs[0]: print(f'   {k}: {np.mean([c[k][0] for c in cs]):.4f} | {np.mean([c[k][1] for c in cs]):.4f} | {np.mean([c[k][2] for c in cs]):.2f} | {np.mean([c[k][3] for c in cs]):.4f} | {sum(c[k][4] for c in cs)}')
        for pol in own: pol.stop(); print(f'   {pol.name}: discreteness-free share {np.mean(pol.pit):.4f} of {len(pol.pit)} (origin, part) pairs')
