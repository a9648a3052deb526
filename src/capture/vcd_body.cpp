// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_body.h"

#include <cassert>
#include <utility>

#include "capture/shown_text.h"
#include "capture/time_order.h"
#include "capture/vcd_token.h"
#include "capture/vcd_value.h"

namespace clockassay {
namespace {

// How ParseState::mode is put together: the mode of the next token, the dump
// section, whether the vector before it had more digits than one, whether
// dumping is off.
constexpr int kDumpUnit = 16;
constexpr int kOddLengthUnit = 32;
constexpr int kOffUnit = 64;

constexpr const char* kDamaged = "a damaged file must be recorded again";

}  // namespace

VcdBody::VcdBody(const VcdNets& nets, std::string_view bytes,
                 std::int64_t offset, bool last)
    : nets_(&nets),
      bytes_(bytes),
      offset_(offset),
      last_(last),
      initial_(nets.names.size()) {}

VcdBody::VcdBody(const VcdNets& nets, std::string_view bytes,
                 std::int64_t offset, bool last, ParseState entry,
                 std::vector<PieceChannelBuilder>& builders,
                 const std::vector<std::optional<Level>>& initial)
    : nets_(&nets),
      bytes_(bytes),
      offset_(offset),
      last_(last),
      builders_(&builders),
      initial_(initial),
      mode_(static_cast<Mode>(entry.mode % kDumpUnit)),
      in_dump_(entry.mode / kDumpUnit % 2 != 0),
      odd_length_(entry.mode / kOddLengthUnit % 2 != 0),
      off_(entry.mode / kOffUnit % 2 != 0),
      opened_byte_(entry.opened_byte) {
  if (entry.mode != 0) now_ = entry.time;
}

void VcdBody::run_to_first_stamp() {
  while (next_token()) {
    if (mode_ == Mode::kPlain && token_[0] == '#') {
      at_ = token_begin_;
      return;
    }
    token();
    if (stopped_) return;
  }
  end_of_input();
}

void VcdBody::run(Piece& piece) {
  while (!stopped_ && next_token()) token();
  if (!stopped_) end_of_input();
  piece.exit = exit();
  piece.has_time = has_time_;
  piece.first_time = first_time_;
  if (now_) piece.last_time = *now_;
  piece.first_time_byte = first_time_byte_;
  piece.first_stamp_is_end = first_stamp_is_end_;
  piece.counts = counts_;
  piece.error = error_;
}

ParseState VcdBody::exit() const {
  Mode mode = mode_;
  bool odd_length = odd_length_;
  if (mode == Mode::kAfterVector) {
    // The value is out of reach of the next piece: only its level goes on.
    const VcdBit bit = vcd_bit(value_);
    odd_length = bit.unusual;
    mode = !bit.level                   ? Mode::kAfterOdd
           : *bit.level == Level::kLow  ? Mode::kAfterLow
           : *bit.level == Level::kHigh ? Mode::kAfterHigh
                                        : Mode::kAfterUnknown;
  }
  ParseState state;
  state.mode = static_cast<int>(mode) + kDumpUnit * (in_dump_ ? 1 : 0) +
               kOddLengthUnit * (odd_length ? 1 : 0) +
               kOffUnit * (off_ ? 1 : 0);
  if (state.mode == 0) return state;
  if (mode == Mode::kComment) state.opened_byte = opened_byte_;
  if (now_) state.time = *now_;
  return state;
}

bool VcdBody::next_token() {
  token_begin_ = skip_vcd_blanks(bytes_, at_);
  at_ = vcd_token_end(bytes_, token_begin_);
  token_ = bytes_.substr(token_begin_, at_ - token_begin_);
  return !token_.empty();
}

void VcdBody::token() {
  switch (mode_) {
    case Mode::kPlain:
      return plain();
    case Mode::kComment:
      if (token_ == "$end") mode_ = Mode::kPlain;
      return;
    case Mode::kLoneLow:
    case Mode::kLoneHigh:
    case Mode::kLoneUnknown:
      return lone_identifier();
    default:
      return identifier();
  }
}

void VcdBody::plain() {
  const char first = token_[0];
  if (const auto level = vcd_level(first)) return scalar(*level);
  switch (first) {
    case '#':
      return stamp();
    case 'b':
    case 'B':
      value_ = token_.substr(1);
      mode_ = Mode::kAfterVector;
      return;
    case 'r':
    case 'R':
    case 's':
    case 'S':
      mode_ = Mode::kAfterSkipped;
      return;
    case '$':
      return keyword();
    case 'p':
      return fail("found " + shown_text(token_) +
                      ", which looks like a value of an extended VCD, expected "
                      "a plain one",
                  "dump with $dumpvars instead of $dumpports");
    default:
      return fail("found " + shown_text(token_) +
                      ", expected a value change, a time such as #100, or a "
                      "keyword",
                  kDamaged);
  }
}

void VcdBody::stamp() {
  const VcdStamp stamp = vcd_stamp(token_.substr(1));
  switch (stamp.fault) {
    case VcdStamp::Fault::kNoNumber:
      return fail("found time " + shown_text(token_) +
                      ", expected # and a whole number",
                  kDamaged);
    case VcdStamp::Fault::kFraction:
      return fail("found time " + shown_text(token_) +
                      ", expected a whole number of ticks",
                  "write the file with a finer $timescale");
    case VcdStamp::Fault::kTooLarge:
      return fail("found time " + shown_text(token_) +
                      ", expected at most 9223372036854775807",
                  "write the file with a coarser $timescale");
    case VcdStamp::Fault::kNone:
      break;
  }
  const Ticks time(stamp.ticks);
  const std::int64_t byte = offset_ + static_cast<std::int64_t>(token_begin_);
  const bool is_end = last_ && skip_vcd_blanks(bytes_, at_) == bytes_.size();
  if (now_ && time < *now_) {
    stopped_ = true;
    if (is_end) {
      counts_.truncated_end = true;
    } else {
      error_ = tick_order_error(*now_, time, byte);
    }
    return;
  }
  if (stamp.unusual) ++counts_.unusual_syntax;
  if (in_dump_) ++counts_.unusual_syntax;  // its $end is missing
  in_dump_ = false;
  now_ = time;
  if (has_time_) return;
  has_time_ = true;
  first_time_ = time;
  first_time_byte_ = byte;
  first_stamp_is_end_ = is_end;
  for (std::size_t net = 0; net < initial_.size(); ++net) {
    if (initial_[net]) deliver(net, *initial_[net]);
  }
}

void VcdBody::keyword() {
  if (token_ == "$end") {
    if (!in_dump_) ++counts_.unusual_syntax;
    in_dump_ = false;
  } else if (token_ == "$comment") {
    mode_ = Mode::kComment;
    opened_byte_ = offset_ + static_cast<std::int64_t>(token_begin_);
  } else if (is_vcd_dump_keyword(token_)) {
    dump();
  } else if (is_vcd_port_keyword(token_)) {
    fail("found " + shown_text(token_) +
             " of an extended VCD, expected a plain one",
         "dump with $dumpvars instead of $dumpports");
  } else if (is_vcd_header_keyword(token_)) {
    fail("found " + shown_text(token_) +
             " after the header, expected value changes",
         "two captures in one file? split them");
  } else {
    fail("found unknown keyword " + shown_text(token_) +
             ", expected value changes",
         kDamaged);
  }
}

void VcdBody::dump() {
  if (in_dump_) ++counts_.unusual_syntax;  // its $end is missing
  in_dump_ = true;
  if (token_ == "$dumpon") off_ = false;
  if (token_ != "$dumpoff") return;
  off_ = true;
  ++counts_.dump_off;
  // Whatever the section says or forgets: from here on nothing is known.
  for (std::size_t net = 0; net < nets_->names.size(); ++net) {
    deliver(net, Level::kUnknown);
  }
}

void VcdBody::scalar(Level level) {
  if (token_.size() > 1) return statement(token_.substr(1), level);
  mode_ = level == Level::kLow    ? Mode::kLoneLow
          : level == Level::kHigh ? Mode::kLoneHigh
                                  : Mode::kLoneUnknown;
}

void VcdBody::identifier() {
  const Mode mode = std::exchange(mode_, Mode::kPlain);
  const bool odd_length = std::exchange(odd_length_, false);
  const auto net = wanted_net(token_);
  if (!net) return;
  VcdBit bit{std::nullopt, odd_length};
  switch (mode) {
    case Mode::kAfterSkipped:
      return fail("found a real number or string for one-bit " +
                      shown_text(nets_->names[*net]) + " (identifier " +
                      shown_text(token_) + "), expected 0, 1, x or z",
                  kDamaged);
    case Mode::kAfterVector:
      bit = vcd_bit(value_);
      break;
    case Mode::kAfterLow:
      bit.level = Level::kLow;
      break;
    case Mode::kAfterHigh:
      bit.level = Level::kHigh;
      break;
    case Mode::kAfterUnknown:
      bit.level = Level::kUnknown;
      break;
    default:
      break;
  }
  if (!bit.level) {
    return fail("found a vector that is no single bit for one-bit " +
                    shown_text(nets_->names[*net]) + " (identifier " +
                    shown_text(token_) + "), expected b0, b1, bx or bz",
                kDamaged);
  }
  if (bit.unusual) ++counts_.unusual_syntax;
  deliver(*net, *bit.level);
}

void VcdBody::lone_identifier() {
  const Mode mode = std::exchange(mode_, Mode::kPlain);
  if (!nets_->ids.find(token_)) {
    return fail("found " + shown_text(token_) +
                    " after a value without identifier, expected an "
                    "identifier of the header",
                kDamaged);
  }
  ++counts_.unusual_syntax;
  statement(token_, mode == Mode::kLoneLow    ? Level::kLow
                    : mode == Mode::kLoneHigh ? Level::kHigh
                                              : Level::kUnknown);
}

void VcdBody::statement(std::string_view id, Level level) {
  if (const auto net = wanted_net(id)) deliver(*net, level);
}

std::optional<std::size_t> VcdBody::wanted_net(std::string_view id) {
  const auto number = nets_->ids.find(id);
  if (!number) {
    ++counts_.undeclared_ids;
    return std::nullopt;
  }
  const std::int32_t net = nets_->net_of_id[*number];
  if (net < 0) return std::nullopt;
  return static_cast<std::size_t>(net);
}

void VcdBody::deliver(std::size_t net, Level level) {
  if (off_ && level != Level::kUnknown) {
    ++counts_.changes_while_off;
    level = Level::kUnknown;
  }
  if (builders_ == nullptr) {
    initial_[net] = level;
  } else {
    assert(now_);
    (*builders_)[net].add(*now_, level);
  }
}

void VcdBody::end_of_input() {
  if (!last_ || mode_ == Mode::kPlain) {
    if (last_ && in_dump_) ++counts_.unusual_syntax;
    return;
  }
  if (mode_ != Mode::kComment) {
    counts_.truncated_end = true;  // a value whose identifier was cut off
    return;
  }
  error_ = Error{ErrorCode::kBadData,
                 "found the end of the file inside the $comment that begins "
                 "at byte " +
                     std::to_string(opened_byte_) + ", expected $end",
                 "the file is cut off: record it again"};
  error_->byte = offset_ + static_cast<std::int64_t>(bytes_.size());
}

// A last token that nothing follows, not even a blank, may be a part of one.
void VcdBody::fail(std::string message, std::string hint) {
  stopped_ = true;
  if (last_ && at_ == bytes_.size()) {
    counts_.truncated_end = true;
    return;
  }
  error_ = Error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  error_->byte = offset_ + static_cast<std::int64_t>(token_begin_);
}

}  // namespace clockassay
