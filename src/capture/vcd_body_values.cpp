// SPDX-License-Identifier: GPL-3.0-or-later
// The part of VcdBody that reads values whose identifier is a token of its own.
#include <algorithm>
#include <string>
#include <utility>

#include "capture/shown_text.h"
#include "capture/vcd_body.h"
#include "capture/vcd_token.h"
#include "capture/vcd_value.h"

namespace clockassay {
namespace {

constexpr const char* kDamaged = "a damaged file must be recorded again";

// What is wrong with a value for a bus.
const char* fault_text(VcdVector::Fault fault) {
  switch (fault) {
    case VcdVector::Fault::kTooLong:
      return " of too many bits for the bus";
    case VcdVector::Fault::kTooShort:
      return " of too few bits for the bus";
    default:
      return " with a digit that means nothing for the bus";
  }
}

}  // namespace

// A digit from 0 (three-state) to 7 (supply) for each bit of the port. They
// say which of two drivers wins, which the letters know already.
void VcdBody::strengths() {
  const std::size_t bits =
      carried_.empty() ? value_.size() : VcdNets::carried_size(carried_);
  const bool digits =
      std::ranges::all_of(token_, [](char c) { return c >= '0' && c <= '7'; });
  if (!digits || token_.size() != bits) {
    return fail("found " + shown_text(token_) +
                    " as strengths of a port, expected a digit from 0 to 7 for "
                    "each of " +
                    std::to_string(bits) + (bits == 1 ? " bit" : " bits"),
                kDamaged);
  }
  mode_ = mode_ == Mode::kPortWeak ? Mode::kPortStrong : Mode::kAfterPort;
}

void VcdBody::identifier() {
  const Mode mode = std::exchange(mode_, Mode::kPlain);
  if (may_be_cut(token_)) return cut_off();
  if (const auto number = nets_->ids.find(token_)) {
    const std::int32_t net = nets_->net_of_id[*number];
    if (net >= 0) {
      one_bit_value(static_cast<std::size_t>(net), mode);
    } else if (net != VcdNets::kNotRead) {
      bus_value(static_cast<std::size_t>(VcdNets::kFirstBus - net), mode);
    }
  } else {
    undeclared();
  }
  carried_.clear();
}

// An identifier nobody declares is left out; but if it looks like what comes
// next in the file, the identifier is missing, and to go on would lose a time.
void VcdBody::undeclared() {
  const bool stamp = token_[0] == '#' && vcd_stamp(token_.substr(1)).fault !=
                                             VcdStamp::Fault::kNoNumber;
  if (stamp || token_ == "$end" || is_vcd_body_keyword(token_)) {
    return fail("found " + shown_text(token_) +
                    " after a value without identifier, expected an "
                    "identifier of the header",
                kDamaged);
  }
  ++counts_.undeclared_ids;
}

void VcdBody::refuse_value(const std::string& found, const std::string& name,
                           std::string_view id, const std::string& expected) {
  fail("found " + found + ' ' + shown_text(name) + " (identifier " +
           shown_text(id) + "), expected " + expected,
       kDamaged);
}

void VcdBody::one_bit_value(std::size_t net, Mode mode) {
  const std::string& name = nets_->names[net];
  if (mode == Mode::kAfterSkipped) {
    return refuse_value("a real number or string for one-bit", name, token_,
                        "0, 1, x or z");
  }
  const bool port = mode == Mode::kAfterPort;
  const VcdVector value(value_, port);
  const bool here = carried_.empty();
  const VcdReading before =
      here ? VcdReading() : VcdNets::carried_bit(carried_);
  const VcdVector::Fit fit = here ? value.fit(1) : before.fit;
  if (fit.fault != VcdVector::Fault::kNone) {
    return port ? refuse_value("a port value that is no single bit for one-bit",
                               name, token_, "one letter such as U or D")
                : refuse_value("a vector that is no single bit for one-bit",
                               name, token_, "b0, b1, bx or bz");
  }
  if (fit.unusual) ++counts_.unusual_syntax;
  deliver(net, here ? value.level(0) : before.levels[0]);
}

void VcdBody::bus_value(std::size_t number, Mode mode) {
  const VcdBus& bus = nets_->buses[number];
  const std::string bits = std::to_string(bus.width);
  if (mode == Mode::kAfterSkipped) {
    return refuse_value("a real number or string for the bus", bus.name, token_,
                        "b and up to " + bits + " digits");
  }
  const bool port = mode == Mode::kAfterPort;
  const VcdVector value(value_, port);
  const bool here = carried_.empty();
  const VcdReading before =
      here ? VcdReading() : nets_->carried_bus(carried_, number);
  const VcdVector::Fit fit = here ? value.fit(bus.width) : before.fit;
  if (fit.fault != VcdVector::Fault::kNone) {
    return refuse_value(
        std::string(port ? "a port value" : "a vector") + fault_text(fit.fault),
        bus.name, token_,
        port ? bits + " letters such as U or D"
             : "up to " + bits + " digits, each 0, 1, x or z");
  }
  if (fit.unusual) ++counts_.unusual_syntax;
  for (std::size_t i = 0; i < bus.bits.size(); ++i) {
    deliver(bus.bits[i].net,
            here ? value.level(bus.bits[i].place) : before.levels[i]);
  }
}

// One letter for a bus, against the grammar: a vector of one digit.
void VcdBody::letter_for_bus(std::size_t number, char letter,
                             std::string_view id) {
  const VcdBus& bus = nets_->buses[number];
  const VcdVector value(std::string_view(&letter, 1), false);
  const VcdVector::Fit fit = value.fit(bus.width);
  if (fit.fault != VcdVector::Fault::kNone) {
    return refuse_value(
        std::string("a letter") + fault_text(fit.fault), bus.name, id,
        std::to_string(bus.width) + " digits behind b, each 0, 1, x or z");
  }
  ++counts_.unusual_syntax;
  for (const VcdBus::Bit& bit : bus.bits) {
    deliver(bit.net, value.level(bit.place));
  }
}

void VcdBody::lone_identifier() {
  const Mode mode = std::exchange(mode_, Mode::kPlain);
  if (!nets_->ids.find(token_)) {
    return fail("found " + shown_text(token_) +
                    " after a value without identifier, expected an "
                    "identifier of the header",
                kDamaged);
  }
  if (may_be_cut(token_)) return cut_off();
  ++counts_.unusual_syntax;
  switch (mode) {
    case Mode::kLoneLow:
      return statement(token_, '0', Level::kLow);
    case Mode::kLoneHigh:
      return statement(token_, '1', Level::kHigh);
    case Mode::kLoneWeakHigh:
      return statement(token_, 'H', Level::kHigh);
    default:
      return statement(token_, 'x', Level::kUnknown);
  }
}

}  // namespace clockassay
