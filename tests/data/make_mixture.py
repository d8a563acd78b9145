# SPDX-License-Identifier: MIT
"""Writes mixture.csv: colours drawn from three normal distributions of one covariance, and the maximum-likelihood mixture that
SciPy's general optimiser finds for them: another way to the same maximum than expectation and maximisation.

    python3 make_mixture.py > mixture.csv
"""
import numpy
import scipy
from scipy.optimize import minimize
from scipy.special import logsumexp
from scipy.stats import multivariate_normal

random = numpy.random.default_rng(7)
covariance = numpy.array([[.004, .003, .0025], [.003, .0038, .003], [.0025, .003, .005]])
mean = numpy.array([[-1.3, -1.7, -2.2], [-1.0, -1.95, -3.0], [-1.9, -2.0, -2.3]])
part = random.choice(3, 300, p=[.7, .2, .1])
colour = numpy.round(mean[part] + random.multivariate_normal([0, 0, 0], covariance, 300), 5)


def unpack(x):
    weight = numpy.exp(numpy.append(x[:2], 0))
    lower = numpy.zeros((3, 3))
    lower[numpy.tril_indices(3)] = x[11:]
    lower[numpy.diag_indices(3)] = numpy.exp(numpy.diag(lower))
    return weight / weight.sum(), x[2:11].reshape(3, 3), lower @ lower.T


def cost(x):
    weight, means, tied = unpack(x)
    each = [numpy.log(weight[k]) + multivariate_normal.logpdf(colour, means[k], tied) for k in range(3)]
    return -logsumexp(each, axis=0).mean()


start = numpy.linalg.cholesky(covariance)
start[numpy.diag_indices(3)] = numpy.log(numpy.diag(start))
x = numpy.concatenate([numpy.log([7, 2]), mean.ravel(), start[numpy.tril_indices(3)]])
for _ in range(8):
    x = minimize(cost, x, method="BFGS", options={"gtol": 1e-9, "maxiter": 2000}).x
weight, means, tied = unpack(x)
print(f"# made by make_mixture.py with numpy {numpy.__version__}, scipy {scipy.__version__} (BFGS on the likelihood)")
print("# three parts: share, mean; then the covariance's rows, the mean log likelihood, and the colours")
print("a,b,c,d")
for k in range(3):
    print("%.7f,%.6f,%.6f,%.6f" % (weight[k], *means[k]))
for row in tied:
    print("%.8f,%.8f,%.8f," % tuple(row))
print("%.8f,,," % -cost(x))
for row in colour:
    print("%.5f,%.5f,%.5f," % tuple(row))
