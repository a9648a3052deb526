// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capture/look_rest.h"
#include "capture/record_run.h"
#include "capture/vcd_nets.h"
#include "capture/vcd_scan.h"
#include "capture/vcd_vector.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// Reads value changes, token by token: IEEE 1364-2005, 18.2.4 and 18.4.3, as
/// docs/formats/vcd.md says. Used once for the values before the first stamp,
/// which go into levels, and once for each piece.
class VcdBody {
 public:
  /// The values before the first stamp; `bytes` is the input from file offset
  /// `offset` on. Statements go to initial_levels().
  VcdBody(const VcdNets& nets, std::string_view bytes, std::int64_t offset,
          bool last);
  /// A piece that begins in state `entry`. Statements go to `builders`, one
  /// per net; `initial` has the levels that hold from the first stamp on. `ids`
  /// are those of the nets.
  VcdBody(const VcdNets& nets, const VcdScanIds& ids, std::string_view bytes,
          std::int64_t offset, bool last, ParseState entry,
          std::vector<PieceChannelBuilder>& builders,
          const std::vector<std::optional<Level>>& initial);

  /// Reads up to the next stamp, which is not taken, or to the end.
  void run_to_stamp();
  /// Reads the stamp before which run_to_stamp() ended.
  void take_stamp();
  void forget_levels();
  /// Reads all; times, counts and error go into `piece`.
  void run(Piece& piece);

  std::size_t position() const { return at_; }
  ParseState exit() const;
  const ReadCounts& counts() const { return counts_; }
  const std::optional<Error>& error() const { return error_; }
  /// The last token may go on behind the bytes there are.
  bool is_short() const { return !last_ && at_ == bytes_.size(); }
  bool stopped() const { return stopped_; }
  std::optional<Ticks> now() const { return now_; }
  const std::vector<std::optional<Level>>& initial_levels() const {
    return initial_;
  }
  /// Which nets have one, in the order in which they were named.
  const std::vector<std::size_t>& nets_with_level() const {
    return with_level_;
  }

 private:
  enum class Mode {
    kPlain,
    kComment,
    kClose,       // after $vcdclose: the final time
    kPortWeak,    // after the p of a port: strengths of 0, …
    kPortStrong,  // … strengths of 1, …
    // The next token is an identifier, whatever it looks like, after a …
    kAfterPort,  // … port
    kAfterVector,
    kAfterSkipped,  // real number or string
    // … value that is followed by a blank, against the grammar.
    kLoneLow,
    kLoneHigh,
    kLoneWeakHigh,  // H
    kLoneUnknown,
  };

  bool next_token();
  void token();
  void plain();
  void stamp();
  void keyword();
  void dump();
  void close();
  void scalar(Level level);
  void strengths();
  void identifier();
  void undeclared();
  void one_bit_value(std::size_t net, Mode mode);
  void bus_value(std::size_t bus, Mode mode);
  void letter_for_bus(std::size_t bus, char letter, std::string_view id);
  void refuse_value(const std::string& found, const std::string& name,
                    std::string_view id, const std::string& expected);
  void lone_identifier();
  void statement(std::string_view id, char letter, Level level);
  void deliver(std::size_t net, Level level);
  bool may_take_many() const;
  void take_runs();
  bool learn_run();
  void take_scan(VcdScan& scan);
  void deliver(const VcdScan& scan, std::size_t begin);
  void deliver_by_net(const VcdScan::Changes& changes);
  void end_of_input();
  bool nothing_follows() const;
  bool may_be_cut(std::string_view id) const;
  void cut_off();
  void fail(std::string message, std::string hint);

  const VcdNets* nets_;
  const VcdScanIds* ids_ = nullptr;
  std::string_view bytes_;
  std::int64_t offset_;
  bool last_;
  std::vector<PieceChannelBuilder>* builders_ = nullptr;
  std::vector<std::optional<Level>> initial_;
  std::vector<std::size_t> with_level_;  // without builders only

  std::size_t at_ = 0;
  std::string_view token_;
  std::size_t token_begin_ = 0;
  // The digits of the vector or port before the identifier; if they stood in
  // the piece before, what they say: see VcdNets::carry.
  std::string_view value_;
  std::vector<std::int64_t> carried_;
  Mode mode_ = Mode::kPlain;
  bool in_dump_ = false;  // between $dump… and its $end
  bool off_ = false;      // from $dumpoff to $dumpon
  std::int64_t opened_byte_ = 0;
  std::optional<Ticks> now_;
  bool stopped_ = false;

  // A run of stamps with a change of one net each may begin after a change:
  std::optional<std::size_t> run_net_;  // of this net,
  std::string_view run_id_;             // of this identifier,
  Level run_level_ = Level::kUnknown;   // to this level.
  LookRest run_rest_;                   // asked before each change
  RecordShape shape_;
  LookRest scan_rest_;  // asked before each token
  // At first so many tokens are read by themselves: a run may show, which is
  // faster still. Chosen.
  int first_tokens_ = 8;
  // Of deliver_by_net; here so that their memory is kept.
  std::vector<std::size_t> places_;
  std::vector<std::int64_t> times_;
  std::vector<std::uint8_t> high_;
  std::size_t stamp_size_ = 0;  // of the last one, with its #

  bool has_time_ = false;
  Ticks first_time_;
  std::int64_t first_time_byte_ = 0;
  bool first_stamp_is_end_ = false;
  ReadCounts counts_;
  std::optional<Error> error_;
};

}  // namespace clockassay
