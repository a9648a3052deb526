// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string_view>

#include "clockassay/capture/capture_reader.h"

namespace clockassay {

/// What an input was found to be packed in, by its first bytes.
enum class Compression { kNone, kGzip, kZstd };

/// What an input is packed in that begins like this; the first KiB will do.
Compression compression_of(std::string_view beginning);

/// "none", "gzip", "zstd".
const char* compression_name(Compression compression);

/// How far packed input may grow: a small file must not keep a machine busy for
/// hours. Texts below the size grow as they like. Chosen: captures pack 5 to 50
/// times, samples of a level alone up to 1000 times, gzip data 1032 times at
/// most.
struct UnpackLimit {
  std::int64_t ratio = 500;  ///< text to packed input; 0: no limit
  std::int64_t size = std::int64_t{1} << 30;  ///< bytes of text
};

/// The text of an input that may be compressed (gzip, RFC 1952; Zstandard,
/// RFC 8878), whatever its name; an input that is neither comes through as it
/// is. Several members or frames in a row are one text; zeros after the last
/// are padding. Checksums and lengths are verified where the format has them.
/// In:     source  the bytes of the file
///         found   set by the first read; lives as long as the result
///         limit   what it may grow to
/// Errors: kBadData with `byte` in the compressed input: truncated; something
///         else after the end; more text than the limit; damaged, or a window
///         of more than 128 MiB (then the byte at which the member begins);
///         what the source says. A source that failed once fails for good. What
///         was read before an error may be damaged, too, because a checksum
///         comes last: whoever uses it must read to the end.
/// Cost:   O(bytes) time; memory bounded by the window, 32 KiB for gzip.
ByteSource decompress(ByteSource source, Compression& found,
                      UnpackLimit limit = {});

}  // namespace clockassay
