// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_nets.h"

#include <cassert>

namespace clockassay {
namespace {

// A fit as a number: the fault, and this on top when it is unusual.
constexpr std::int64_t kUnusual = 16;

std::int64_t to_number(const VcdVector::Fit& fit) {
  return static_cast<std::int64_t>(fit.fault) + (fit.unusual ? kUnusual : 0);
}

// Reads a fit and `count` levels that begin at `at`.
VcdReading from_numbers(const std::vector<std::int64_t>& carried,
                        std::size_t at, std::size_t count) {
  assert(at + count < carried.size());
  VcdReading reading;
  reading.fit.fault = static_cast<VcdVector::Fault>(carried[at] % kUnusual);
  reading.fit.unusual = carried[at] >= kUnusual;
  for (std::size_t i = 0; i < count; ++i) {
    reading.levels.push_back(static_cast<Level>(carried[at + 1 + i]));
  }
  return reading;
}

// Where the numbers for the first bus begin: the size, the single bit before.
constexpr std::size_t kSingle = 1;
constexpr std::size_t kBuses = 3;

}  // namespace

std::vector<std::int64_t> VcdNets::carry(const VcdVector& value) const {
  std::vector<std::int64_t> carried{static_cast<std::int64_t>(value.size())};
  const auto add_fit = [&](std::int64_t width) {
    carried.push_back(to_number(value.fit(width)));
    return carried.back() % kUnusual == 0;
  };
  const auto add_level = [&](bool fits, std::int64_t place) {
    const Level level = fits ? value.level(place) : Level::kUnknown;
    carried.push_back(static_cast<std::int64_t>(level));
  };
  add_level(add_fit(1), 0);
  for (const VcdBus& bus : buses) {
    const bool fits = add_fit(bus.width);
    for (const VcdBus::Bit& bit : bus.bits) add_level(fits, bit.place);
  }
  return carried;
}

std::size_t VcdNets::carried_size(const std::vector<std::int64_t>& carried) {
  return static_cast<std::size_t>(carried.at(0));
}

VcdReading VcdNets::carried_bit(const std::vector<std::int64_t>& carried) {
  return from_numbers(carried, kSingle, 1);
}

VcdReading VcdNets::carried_bus(const std::vector<std::int64_t>& carried,
                                std::size_t bus) const {
  std::size_t at = kBuses;
  for (std::size_t i = 0; i < bus; ++i) at += 1 + buses[i].bits.size();
  return from_numbers(carried, at, buses[bus].bits.size());
}

}  // namespace clockassay
