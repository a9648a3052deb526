// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <random>
#include <span>
#include <string>
#include <string_view>

namespace clockassay {

/// What is done to the text of a capture, behind its header.
enum class Damage {
  kFlipBits,        ///< one to eight bits of one to four bytes
  kReplaceBytes,    ///< by any others
  kReplaceDigits,   ///< by other digits
  kDropBytes,       ///< one to sixty-four in a row
  kInsertBytes,     ///< the same, of any value or copied from elsewhere
  kDuplicateBytes,  ///< a run of them, behind itself
  kZeroBlock,       ///< up to 512 bytes, as of a sector that was never written
  kDropLines,       ///< one to twenty
  kDuplicateLines,
  kSwapLines,  ///< two of them, near each other or far apart
  kDropBlock,  ///< up to a quarter of the file
  kDuplicateBlock,
  kMoveBlock,
  kTruncate
};

std::span<const Damage> all_damage();
const char* damage_name(Damage damage);

/// The text with such damage at a random place.
/// In:     header  bytes at the beginning that stay as they are
std::string damage(std::string_view text, std::size_t header, Damage kind,
                   std::mt19937_64& random);

/// A board whose clock is known, and its capture.
struct KnownBoard {
  std::string text;
  std::size_t header = 0;  ///< bytes in front of the values
  double error_ppm = 0.0;  ///< of the expected frequency
  double limit_ppm = 0.0;  ///< half-width of what is allowed
  double timebase_ppm = 0.0;
};

/// The kinds there are: good ones, ones beyond their limit, other clocks; CSV
/// and VCD, stamps of samples and of text.
std::size_t board_kinds();
KnownBoard make_board(std::size_t kind, std::uint64_t seed);

/// How a damaged capture comes out.
enum class Outcome {
  kRefused,      ///< an error says where and why
  kUndecided,    ///< or no clock to speak of
  kRightAnswer,  ///< pass or fail as is true
  kWrongFail,    ///< a good board fails
  kWrongPass,    ///< a board beyond its limit passes
  kMisleading    ///< no verdict is wrong, but a figure without its truth, and
                 ///< nothing that forbids a pass
};

/// What is said of a capture of that board, damaged or not.
Outcome outcome_of(const KnownBoard& board, std::string_view text);
const char* outcome_name(Outcome outcome);

}  // namespace clockassay
