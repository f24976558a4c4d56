#include "server/compress.hpp"

#include <array>
#include <cstdint>
#include <new>
#include <stdexcept>

#include <brotli/encode.h>
#include <zlib.h>

namespace evenhand::server {
namespace {

constexpr int gzip_wrapper = 15 + 16;  // the largest window, and gzip's header and trailer

std::string gzip(std::string_view bytes, int level) {
  z_stream stream{};
  if (deflateInit2(&stream, level, Z_DEFLATED, gzip_wrapper, 8, Z_DEFAULT_STRATEGY) != Z_OK)
    throw std::bad_alloc();
  std::string out(deflateBound(&stream, bytes.size()), '\0');
  // zlib takes bytes it does not change by a pointer to bytes it could.
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
  stream.avail_in = static_cast<uInt>(bytes.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  const int done = deflate(&stream, Z_FINISH);
  out.resize(stream.total_out);
  deflateEnd(&stream);
  if (done != Z_STREAM_END) throw std::runtime_error("zlib did not finish");
  return out;
}

std::string brotli(std::string_view bytes, int quality) {
  std::size_t size = BrotliEncoderMaxCompressedSize(bytes.size());
  std::string out(size, '\0');
  if (BrotliEncoderCompress(quality, BROTLI_DEFAULT_WINDOW, BROTLI_MODE_TEXT, bytes.size(),
                            reinterpret_cast<const std::uint8_t*>(bytes.data()), &size,
                            reinterpret_cast<std::uint8_t*>(out.data())) != BROTLI_TRUE)
    throw std::runtime_error("brotli did not finish");
  out.resize(size);
  return out;
}

std::string_view trimmed(std::string_view text) {
  const auto from = text.find_first_not_of(" \t");
  if (from == std::string_view::npos) return {};
  return text.substr(from, text.find_last_not_of(" \t") - from + 1);
}

/// Whether one element of the list ("br;q=0.5") takes the coding; "q=0" says that it must not be used.
bool takes(std::string_view element, std::string_view coding) {
  const auto semicolon = element.find(';');
  if (trimmed(element.substr(0, semicolon)) != coding) return false;
  if (semicolon == std::string_view::npos) return true;
  auto weight = trimmed(element.substr(semicolon + 1));
  if (!weight.starts_with("q=")) return false;
  weight.remove_prefix(2);
  return weight.find_first_not_of("0.") != std::string_view::npos;
}

}  // namespace

Encoding best_encoding(std::string_view accept_encoding) {
  Encoding best = Encoding::none;
  while (!accept_encoding.empty()) {
    const auto comma = accept_encoding.find(',');
    const auto element = accept_encoding.substr(0, comma);
    if (takes(element, "br")) return Encoding::brotli;
    if (takes(element, "gzip")) best = Encoding::gzip;
    if (comma == std::string_view::npos) break;
    accept_encoding.remove_prefix(comma + 1);
  }
  return best;
}

std::string_view word(Encoding encoding) {
  switch (encoding) {
    case Encoding::gzip:
      return "gzip";
    case Encoding::brotli:
      return "br";
    case Encoding::none:
      break;
  }
  return {};
}

std::string compress(std::string_view bytes, Encoding encoding, Effort effort) {
  switch (encoding) {
    case Encoding::gzip:
      return gzip(bytes, effort == Effort::best ? 9 : 5);
    case Encoding::brotli:
      return brotli(bytes, effort == Effort::best ? BROTLI_MAX_QUALITY : 4);
    case Encoding::none:
      break;
  }
  return std::string(bytes);
}

}  // namespace evenhand::server
