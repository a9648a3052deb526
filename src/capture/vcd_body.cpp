// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_body.h"

#include <cassert>
#include <memory>
#include <numeric>
#include <utility>

#include "base/simd_level.h"
#include "capture/shown_text.h"
#include "capture/time_order.h"
#include "capture/vcd_token.h"
#include "capture/vcd_value.h"

namespace clockassay {
namespace {

// How ParseState::mode is put together: the mode of the next token, the dump
// section, whether dumping is off.
constexpr int kDumpUnit = 16;
constexpr int kOffUnit = 32;

constexpr const char* kDamaged = "a damaged file must be recorded again";

}  // namespace

VcdBody::VcdBody(const VcdNets& nets, std::string_view bytes,
                 std::int64_t offset, bool last)
    : nets_(&nets),
      bytes_(bytes),
      offset_(offset),
      last_(last),
      initial_(nets.names.size()) {}

VcdBody::VcdBody(const VcdNets& nets, const VcdScanIds& ids,
                 std::string_view bytes, std::int64_t offset, bool last,
                 ParseState entry, std::vector<PieceChannelBuilder>& builders,
                 const std::vector<std::optional<Level>>& initial)
    : nets_(&nets),
      ids_(&ids),
      bytes_(bytes),
      offset_(offset),
      last_(last),
      builders_(&builders),
      initial_(initial),
      carried_(std::move(entry.held)),
      mode_(static_cast<Mode>(entry.mode % kDumpUnit)),
      in_dump_(entry.mode / kDumpUnit % 2 != 0),
      off_(entry.mode / kOffUnit % 2 != 0),
      opened_byte_(entry.opened_byte) {
  if (entry.mode != 0) now_ = entry.time;
}

void VcdBody::run_to_stamp() {
  while (next_token()) {
    const bool stamp_next = mode_ == Mode::kPlain || mode_ == Mode::kClose;
    if (stamp_next && token_[0] == '#') {
      at_ = token_begin_;
      return;
    }
    token();
    if (stopped_) return;
  }
  end_of_input();
}

void VcdBody::take_stamp() {
  if (next_token()) token();
}

void VcdBody::forget_levels() {
  for (const std::size_t net : with_level_) initial_[net].reset();
  with_level_.clear();
}

void VcdBody::run(Piece& piece) {
  const auto scan = std::make_unique_for_overwrite<VcdScan>();
  while (!stopped_) {
    take_runs();
    take_scan(*scan);
    if (!next_token()) break;
    token();
  }
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
  ParseState state;
  state.mode = static_cast<int>(mode_) + kDumpUnit * (in_dump_ ? 1 : 0) +
               kOffUnit * (off_ ? 1 : 0);
  if (state.mode == 0) return state;
  if (mode_ == Mode::kComment) state.opened_byte = opened_byte_;
  if (now_) state.time = *now_;
  const bool port = mode_ == Mode::kPortWeak || mode_ == Mode::kPortStrong ||
                    mode_ == Mode::kAfterPort;
  if (port || mode_ == Mode::kAfterVector) {
    // The value is out of reach of the next piece: what it says goes on.
    state.held =
        !carried_.empty() ? carried_ : nets_->carry(VcdVector(value_, port));
  }
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
    case Mode::kClose:
      return close();
    case Mode::kPortWeak:
    case Mode::kPortStrong:
      return strengths();
    case Mode::kLoneLow:
    case Mode::kLoneHigh:
    case Mode::kLoneWeakHigh:
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
      value_ = token_.substr(1);
      mode_ = Mode::kPortWeak;
      return;
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
  stamp_size_ = token_.size();
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
  } else if (token_ == "$vcdclose") {
    mode_ = Mode::kClose;
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
  if (token_ == "$dumpon" || token_ == "$dumpportson") off_ = false;
  if (token_ != "$dumpoff" && token_ != "$dumpportsoff") return;
  off_ = true;
  ++counts_.dump_off;
  // Whatever the section says or forgets: from here on nothing is known.
  for (std::size_t net = 0; net < nets_->names.size(); ++net) {
    deliver(net, Level::kUnknown);
  }
}

// The time at which the file was closed, in a section of its own.
void VcdBody::close() {
  mode_ = Mode::kPlain;
  if (token_[0] != '#') {
    return fail("found " + shown_text(token_) +
                    " after $vcdclose, expected a time such as #100",
                kDamaged);
  }
  stamp();
  in_dump_ = true;  // up to its $end
}

void VcdBody::scalar(Level level) {
  const char letter = token_[0];
  if (token_.size() > 1) return statement(token_.substr(1), letter, level);
  mode_ = level == Level::kLow       ? Mode::kLoneLow
          : level == Level::kUnknown ? Mode::kLoneUnknown
          : letter == '1'            ? Mode::kLoneHigh
                                     : Mode::kLoneWeakHigh;
}

void VcdBody::statement(std::string_view id, char letter, Level level) {
  if (may_be_cut(id)) return cut_off();
  const auto number = nets_->ids.find(id);
  if (!number) {
    ++counts_.undeclared_ids;
    return;
  }
  const std::int32_t net = nets_->net_of_id[*number];
  if (net >= 0) {
    run_net_ = static_cast<std::size_t>(net);
    run_id_ = id;
    run_level_ = level;
    return deliver(*run_net_, level);
  }
  if (net == VcdNets::kNotRead) return;
  const auto bus = static_cast<std::size_t>(VcdNets::kFirstBus - net);
  letter_for_bus(bus, letter, id);
}

void VcdBody::deliver(std::size_t net, Level level) {
  if (off_ && level != Level::kUnknown) {
    ++counts_.changes_while_off;
    level = Level::kUnknown;
  }
  if (builders_ == nullptr) {
    if (!initial_[net]) with_level_.push_back(net);
    initial_[net] = level;
  } else {
    assert(now_);
    (*builders_)[net].add(*now_, level);
  }
}

// Whether what comes may be taken many at a time: stamps, and changes that are
// delivered as they are.
bool VcdBody::may_take_many() const {
  return mode_ == Mode::kPlain && !in_dump_ && !off_ && has_time_ &&
         builders_ != nullptr;
}

// Takes as many records as there are of a stamp and a change of one net.
void VcdBody::take_runs() {
  if (!run_net_) return;
  const std::size_t net = *std::exchange(run_net_, std::nullopt);
  if (!run_rest_.is_due()) return;
  run_rest_.found_none();
  if (!may_take_many() || run_level_ == Level::kUnknown || !learn_run()) return;
  const auto run = std::make_unique_for_overwrite<RecordRun>();
  do {
    const std::size_t begin = skip_vcd_blanks(bytes_, at_);
    run->take(shape_, bytes_.substr(begin), run_level_ == Level::kLow,
              now_->count(), simd_level());
    const std::size_t count = run->count();
    if (count == 0) return;
    const Level first = opposite(run_level_);
    (*builders_)[net].add_alternating(first, run->odd(), run->even());
    now_ = Ticks(run->last());
    if (count % 2 == 1) run_level_ = first;
    // The blank that ends the last record may be its last byte.
    at_ = begin + count * shape_.size() - 1;
    run_rest_ = LookRest();
  } while (run->count() == RecordRun::kMost);
}

/// Whether what follows looks like a run, whose shape it then is: a stamp and a
/// change of the net that changed last, and after that another stamp.
bool VcdBody::learn_run() {
  const std::size_t begin = skip_vcd_blanks(bytes_, at_);
  const std::string_view text = bytes_.substr(begin, 2 * RecordShape::kLongest);
  const std::size_t digits_end = vcd_token_end(text, 0);
  const std::size_t level = skip_vcd_blanks(text, digits_end);
  const std::size_t id_end = vcd_token_end(text, level);
  const std::size_t size = skip_vcd_blanks(text, id_end);
  if (size >= text.size() || text[size] != '#' || text[0] != '#' ||
      size > RecordShape::kLongest || digits_end < 2 ||
      digits_end > RecordShape::kDigitBytes ||
      text.substr(level + 1, id_end - level - 1) != run_id_ ||
      (text[level] != '0' && text[level] != '1')) {
    return false;
  }
  const auto digits =
      ((std::uint32_t{1} << digits_end) - 1) & ~std::uint32_t{1};
  shape_ = RecordShape(text.substr(0, size), digits, level);
  return true;
}

// Takes as many stamps and changes as there are of the plain kind, or some.
void VcdBody::take_scan(VcdScan& scan) {
  if (first_tokens_ > 0) {
    --first_tokens_;
    return;
  }
  if (!may_take_many() || stamp_size_ < 2 ||
      stamp_size_ > VcdScan::kMostDigits + 1 || !scan_rest_.is_due()) {
    return;
  }
  const std::size_t begin = skip_vcd_blanks(bytes_, at_);
  if (bytes_.size() - begin < VcdScan::kLeastBytes) return;
  scan.take(*ids_, bytes_.substr(begin), now_->count(), stamp_size_ - 1,
            simd_level());
  // chosen: less is found sooner token by token
  if (scan.size() < VcdScan::kChunk) scan_rest_.found_none();
  deliver(scan, begin);
  at_ = begin + scan.size();
}

// In: begin  where it began
void VcdBody::deliver(const VcdScan& scan, std::size_t begin) {
  const VcdScan::Changes changes = scan.changes();
  now_ = Ticks(scan.last_time());
  if (changes.times.empty()) return;
  run_net_ = static_cast<std::size_t>(changes.nets.back());
  const std::size_t id = begin + changes.last_position + 1;
  run_id_ = bytes_.substr(id, vcd_token_end(bytes_, id) - id);
  run_level_ = changes.high.back() != 0 ? Level::kHigh : Level::kLow;
  if (builders_->size() == 1) {
    return (*builders_)[0].add_many(changes.times, changes.high);
  }
  // Of more nets most have no change.
  if (builders_->size() <= changes.times.size()) return deliver_by_net(changes);
  for (std::size_t i = 0; i < changes.times.size(); ++i) {
    (*builders_)[static_cast<std::size_t>(changes.nets[i])].add(
        Ticks(changes.times[i]),
        changes.high[i] != 0 ? Level::kHigh : Level::kLow);
  }
}

// Each net gets its changes at once.
void VcdBody::deliver_by_net(const VcdScan::Changes& changes) {
  const std::size_t count = changes.times.size();
  // Where the next change of each net goes, at last where the next net begins.
  places_.assign(builders_->size() + 1, 0);
  for (const std::int32_t net : changes.nets) {
    ++places_[static_cast<std::size_t>(net) + 1];
  }
  std::partial_sum(places_.begin(), places_.end(), places_.begin());
  times_.resize(count);
  high_.resize(count);
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t to = places_[static_cast<std::size_t>(changes.nets[i])]++;
    times_[to] = changes.times[i];
    high_[to] = changes.high[i];
  }
  std::size_t begin = 0;
  for (std::size_t net = 0; net < builders_->size(); ++net) {
    const std::size_t n = places_[net] - begin;
    (*builders_)[net].add_many({times_.data() + begin, n},
                               {high_.data() + begin, n});
    begin = places_[net];
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
bool VcdBody::nothing_follows() const {
  return last_ && at_ == bytes_.size();
}

// Whether the identifier at the end of the present token may be the beginning
// of another one, which the end of the file cut.
bool VcdBody::may_be_cut(std::string_view id) const {
  return nothing_follows() && nets_->ids.begins_longer(id);
}

void VcdBody::cut_off() {
  stopped_ = true;
  counts_.truncated_end = true;
}

void VcdBody::fail(std::string message, std::string hint) {
  if (nothing_follows()) return cut_off();
  stopped_ = true;
  error_ = Error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  error_->byte = offset_ + static_cast<std::int64_t>(token_begin_);
}

}  // namespace clockassay
