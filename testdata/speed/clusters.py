# /usr/bin/python3 testdata/speed/clusters.py: the time of a cluster test by a plain numpy and
# scipy script (30 people × 64 sites × 500 samples × 5,000 sign flips: the same signs for
# all points, blocked matrix products, connected components of a sparse graph), to set
# beside go test -bench Clusters ./topo/inference.
import time
import numpy as np
from scipy import sparse, stats
from scipy.sparse.csgraph import connected_components

people, sites, samples, flips = 30, 64, 500, 5000
rng = np.random.default_rng(1)
data = rng.standard_normal((people, sites * samples))
edges = []
for i in range(sites):
    for k in (1, 8):
        j = (i + k) % sites
        edges.append((np.arange(samples) + i * samples, np.arange(samples) + j * samples))
    edges.append((np.arange(samples - 1) + i * samples, np.arange(1, samples) + i * samples))
a, b = np.concatenate([e[0] for e in edges]), np.concatenate([e[1] for e in edges])
start = time.perf_counter()
threshold = stats.t.ppf(.975, people - 1)
squares = (data ** 2).sum(0) / people
largest = []
for first in range(0, flips, 64):
    signs = rng.choice([-1., 1.], (min(64, flips - first), people))
    mean = signs @ data / people
    t = mean / np.sqrt((squares - mean ** 2) / (people - 1))
    for row in t:
        most = 0
        for sign in (1, -1):
            above = sign * row > threshold
            keep = above[a] & above[b]
            index = np.cumsum(above) - 1
            n = int(above.sum())
            if n == 0:
                continue
            graph = sparse.coo_matrix((np.ones(keep.sum(), bool), (index[a[keep]], index[b[keep]])), (n, n))
            _, labels = connected_components(graph, directed=False)
            most = max(most, np.abs(np.bincount(labels, row[above])).max())
        largest.append(most)
print("%.1f s" % (time.perf_counter() - start))
