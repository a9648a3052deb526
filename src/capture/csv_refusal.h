// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>

#include "clockassay/base/result.h"

namespace clockassay {

/// An error at a byte of the text, from which its line follows.
inline tl::unexpected<Error> refuse_at(std::size_t byte, Error error) {
  error.byte = static_cast<std::int64_t>(byte);
  return tl::unexpected<Error>(std::move(error));
}

/// The same for a file whose contents are at fault.
inline tl::unexpected<Error> refuse_at(std::size_t byte, std::string message,
                                       std::string hint = {}) {
  return refuse_at(
      byte, Error{ErrorCode::kBadData, std::move(message), std::move(hint)});
}

}  // namespace clockassay
