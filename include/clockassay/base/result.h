// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <tl/expected.hpp>

namespace clockassay {

/// Why no result is possible. app/ maps each to an exit code in one table.
enum class ErrorCode {
  kUsage,         ///< an option or argument cannot be understood
  kBadData,       ///< a capture or series cannot be used as data
  kNoInput,       ///< an input cannot be opened
  kReadFailed,    ///< reading an open input failed
  kNoMemory,      ///< memory ran out at an input, or at nothing that is known
  kCannotCreate,  ///< an output cannot be created
  kWriteFailed,   ///< writing an open output failed
  kBadSpec,       ///< a specification or instrument file is wrong
  kTooFewEdges,   ///< an estimator was given too few edges
  kOutOfRange,    ///< an exact computation left the range of its integers
  kInternal,      ///< our own bug
};

/// The code's name as reports print it, such as "bad_data".
const char* error_code_name(ErrorCode code);

/// An error for a person and for a program. `message` says what was found and
/// what was expected, `hint` the way forward. Whoever knows them fills in the
/// places: `path` the input, `line` counted from 1, `byte` the offset from 0.
struct Error {
  ErrorCode code = ErrorCode::kInternal;
  std::string message;
  std::string hint = {};
  std::string path = {};
  std::optional<std::int64_t> line = {};
  std::optional<std::int64_t> byte = {};
};

template <class T>
using Result = tl::expected<T, Error>;

/// Short for tl::unexpected(Error{...}).
inline tl::unexpected<Error> failure(ErrorCode code, std::string message,
                                     std::string hint = {}) {
  return tl::unexpected<Error>(
      Error{code, std::move(message), std::move(hint)});
}

}  // namespace clockassay
