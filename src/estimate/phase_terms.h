// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace clockassay {

/// Squares of the terms of a variance, and how many terms there are.
struct TermSum {
  double squares = 0.0;
  std::int64_t n = 0;

  void add(const TermSum& other) {
    squares += other.squares;
    n += other.n;
  }
};

/// What is added up for one averaging factor. Terms that a missing phase would
/// be part of are left out.
struct DeviationTerms {
  TermSum interval;             ///< differences of phases
  TermSum allan;                ///< second differences of phases
  TermSum modified;             ///< second differences of means, times steps
  TermSum hadamard;             ///< third differences of phases
  std::optional<double> range;  ///< widest of the windows; absent: none

  void add(const DeviationTerms& other);
};

/// A phase series in cells of D consecutive phases; NaN: missing. A cell that
/// the series ends in has its mean missing.
struct PhaseCells {
  std::vector<double> first;
  std::vector<double> mean;
  std::vector<double> low;   ///< of the phases that are there,
  std::vector<double> high;  ///< +infinity and -infinity without any

  std::size_t size() const { return first.size(); }
};

/// Each phase a cell.
void cells_of(std::span<const double> phases, PhaseCells& cells);
/// Two cells made one.
void pair_cells(const PhaseCells& cells, PhaseCells& pairs);
/// All missing.
PhaseCells missing_cells(std::size_t count);
/// The first `count` of `part` in place of those from `at` on. Safe for use by
/// several threads at once on different places.
void put_cells(const PhaseCells& part, std::size_t count, std::size_t at,
               PhaseCells& all);

/// Of x[i+k] - x[i], of x[i+2k] - 2 x[i+k] + x[i], of x[i+3k] - 3 x[i+2k] + 3
/// x[i+k] - x[i]: the first `starts` of all there are.
TermSum first_differences(std::span<const double> x, std::size_t k,
                          std::size_t starts);
TermSum second_differences(std::span<const double> x, std::size_t k,
                           std::size_t starts);
TermSum third_differences(std::span<const double> x, std::size_t k,
                          std::size_t starts);

/// The terms of a phase series in cells of D, for averaging factors k D. Terms
/// begin at every cell, the first `starts` of them: with D = 1 they are all
/// there are, else every D-th.
class CellTerms {
 public:
  /// The cells must outlive their use. Their lowest and highest become those of
  /// windows that begin with them.
  void look_at(PhaseCells& cells, std::size_t starts);

  TermSum interval(std::size_t k) const {
    return first_differences(cells_->first, k, starts_);
  }
  TermSum allan(std::size_t k) const {
    return second_differences(cells_->first, k, starts_);
  }
  TermSum hadamard(std::size_t k) const {
    return third_differences(cells_->first, k, starts_);
  }
  /// Of the sums over i ... i+k-1 of second differences, of means of cells.
  TermSum modified(std::size_t k) const;
  /// The widest range of k D + 1 phases from the first of a cell on.
  /// In:   k not below that of the call before
  /// Cost: one pass, and one more each time that k doubles
  std::optional<double> widest_range(std::size_t k);

 private:
  PhaseCells* cells_ = nullptr;
  std::size_t window_ = 1;  // cells of a window
  std::size_t starts_ = 0;
  std::vector<double> running_;        // sums of the means before a cell
  std::vector<std::int64_t> missing_;  // how many of them are missing, if any
};

}  // namespace clockassay
