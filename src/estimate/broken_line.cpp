// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/broken_line.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace clockassay {
namespace {

constexpr double kNone = std::numeric_limits<double>::infinity();

/// A line to which points are added one after the other. Nothing is subtracted
/// that was large: the squares of points on a line stay small wherever it is.
class GrowingLine {
 public:
  void add(const WeighedPoint& p) {
    const double dk = p.k - line_.k, dy = p.y - line_.y;
    const double weight = weight_ + p.weight;
    if (kk_ > 0.0) {
      const double off = dy - line_.slope * dk;
      squares_ += off * off / (1.0 / p.weight + 1.0 / weight_ + dk * dk / kk_);
    }
    const double shared = p.weight * weight_ / weight;
    kk_ += shared * dk * dk;
    ky_ += shared * dk * dy;
    line_.k += p.weight * dk / weight;
    line_.y += p.weight * dy / weight;
    weight_ = weight;
    if (kk_ > 0.0) line_.slope = ky_ / kk_;
  }
  double squares() const { return squares_; }
  const PointLine& line() const { return line_; }

 private:
  PointLine line_;
  double weight_ = 0.0, kk_ = 0.0, ky_ = 0.0;
  double squares_ = 0.0;
};

using Column = std::vector<double>;

double product(const Column& a, const Column& b) {
  double sum = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += a[i] * b[i];
  return sum;
}

/// Takes from `column` what the orthonormal `basis` holds of it, twice for
/// rounding.
void take_off(const std::vector<Column>& basis, Column& column) {
  for (int pass = 0; pass < 2; ++pass) {
    for (const Column& b : basis) {
      const double part = product(b, column);
      for (std::size_t i = 0; i < b.size(); ++i) column[i] -= part * b[i];
    }
  }
}

void add_to_basis(std::vector<Column>& basis, Column column) {
  const double before = std::sqrt(product(column, column));
  take_off(basis, column);
  const double length = std::sqrt(product(column, column));
  constexpr double kSame = 1e-9;  // chosen: far above what rounding leaves
  if (length <= kSame * before) return;
  for (double& v : column) v /= length;
  basis.push_back(std::move(column));
}

/// Points as columns, each weighed with its root; k from -1 to 1.
struct Columns {
  Column root;
  Column t;
  Column y;
};

Columns columns_of(std::span<const WeighedPoint> points) {
  const double middle = 0.5 * (points.front().k + points.back().k);
  const double half = 0.5 * (points.back().k - points.front().k);
  const PointLine line = line_through(points);
  Columns c;
  for (const WeighedPoint& p : points) {
    const double root = std::sqrt(p.weight);
    c.root.push_back(root);
    c.t.push_back((p.k - middle) / half);
    c.y.push_back(root * (p.y - line.at(p.k)));
  }
  return c;
}

std::vector<Column> polynomials(const Columns& c, std::size_t count) {
  std::vector<Column> basis;
  Column power = c.root;
  for (std::size_t d = 0; d < count; ++d) {
    add_to_basis(basis, power);
    for (std::size_t i = 0; i < power.size(); ++i) power[i] *= c.t[i];
  }
  return basis;
}

double squares_about(const std::vector<Column>& basis, Column y) {
  take_off(basis, y);
  return product(y, y);
}

}  // namespace

std::vector<BrokenLine> best_broken_lines(
    std::span<const WeighedPoint> points) {
  const std::size_t count = points.size();
  // best[lines - 1][j]: smallest squares of that many lines over points 0 … j,
  // the last of which begins at begin[lines - 1][j].
  std::vector<Column> best(kMostLines, Column(count, kNone));
  std::vector<std::vector<std::size_t>> begin(
      kMostLines, std::vector<std::size_t>(count, 0));
  for (std::size_t i = 0; i < count; ++i) {
    GrowingLine line;
    for (std::size_t j = i; j < count; ++j) {
      line.add(points[j]);
      if (j - i + 1 < kFewestPoints) continue;
      for (std::size_t l = 0; l < kMostLines; ++l) {
        double before = l == 0 && i == 0 ? 0.0 : kNone;
        if (l > 0 && i >= 2) before = best[l - 1][i - 2];
        if (before + line.squares() < best[l][j]) {
          best[l][j] = before + line.squares();
          begin[l][j] = i;
        }
      }
    }
  }
  std::vector<BrokenLine> found;
  for (std::size_t l = 0; l < kMostLines && count > 0; ++l) {
    if (best[l][count - 1] == kNone) break;
    BrokenLine lines;
    lines.squares = best[l][count - 1];
    std::size_t last = count - 1;
    for (std::size_t left = l + 1; left-- > 0;) {
      const std::size_t first = begin[left][last];
      lines.ranges.insert(lines.ranges.begin(), {first, last});
      if (left > 0) last = first - 2;
    }
    found.push_back(std::move(lines));
  }
  return found;
}

PointLine line_through(std::span<const WeighedPoint> points) {
  GrowingLine line;
  for (const WeighedPoint& p : points) line.add(p);
  return line.line();
}

double smooth_squares(std::span<const WeighedPoint> points, std::size_t lines) {
  const Columns c = columns_of(points);
  const std::size_t parameters = 2 * lines;
  double least = squares_about(polynomials(c, parameters), c.y);
  // An exponential takes two: its height and its length.
  const std::vector<Column> basis = polynomials(c, parameters - 2);
  const double shortest = 0.5 * (c.t[1] - c.t[0]);
  for (double length = 2.0; length > shortest; length *= std::sqrt(0.5)) {
    Column decay = c.root;
    for (std::size_t i = 0; i < decay.size(); ++i) {
      decay[i] *= std::exp(-(c.t[i] + 1.0) / length);
    }
    std::vector<Column> with_decay = basis;
    add_to_basis(with_decay, std::move(decay));
    least = std::min(least, squares_about(with_decay, c.y));
  }
  return least;
}

}  // namespace clockassay
