#include "cli/files.hpp"

#include <algorithm>
#include <fstream>
#include <iostream>
#include <iterator>
#include <new>
#include <system_error>

#include <sys/mman.h>

namespace evenhand::cli {
namespace {

namespace fs = std::filesystem;
constexpr std::uintmax_t largest_file = 512ULL << 20U;
constexpr std::size_t large_page = std::size_t{1} << 21U;

/// expected  bytes; another number may come
Result<FileBytes> read_stream(std::istream& stream, const std::string& name, std::size_t expected) {
  constexpr std::size_t least = std::size_t{1} << 16U;
  std::size_t room = std::max(expected + 1, least),
              size = 0;  // the byte beyond the end shows that it is the end
  FileBytes bytes(room);
  while (stream.read(bytes.data() + size, static_cast<std::streamsize>(room - size)) || stream.gcount() > 0) {
    size += static_cast<std::size_t>(stream.gcount());
    if (size > largest_file) return fail(Errc::invalid, "{}: larger than 512 MiB; split the file", name);
    if (size < room) continue;
    room *= 2;
    FileBytes larger(room);
    std::copy_n(bytes.data(), size, larger.data());
    bytes = std::move(larger);
  }
  if (stream.bad()) throw MachineFailed(name + ": reading failed");
  bytes.set_size(size);
  return bytes;
}

[[noreturn]] void cannot_write(const fs::path& path) {
  throw MachineFailed(path.string() + ": cannot be written; is the disk full or the folder read-only?");
}

/// Whether a file may be put in its place. A device or a pipe is written to.
bool is_replaced(const fs::path& path) {
  std::error_code none;
  const auto there = fs::status(path, none);
  return !fs::exists(there) || fs::is_regular_file(there);
}

/// What a link names is written anew, and the link stays.
fs::path without_links(const fs::path& path) {
  std::error_code error;
  if (!fs::is_symlink(path, error)) return path;
  auto target = fs::canonical(path, error);
  return error ? path : target;
}

bool filled(const fs::path& path, const std::function<void(std::ostream&)>& write) {
  std::ofstream stream(path, std::ios::binary | std::ios::trunc);
  write(stream);
  stream.flush();
  return stream.good();
}

}  // namespace

FileBytes::FileBytes(std::size_t room)
    : bytes_(static_cast<char*>(::operator new(room, std::align_val_t(large_page)))) {
  // A wish: where it is not granted, reading is slower by a fifth, and nothing else.
  if (room >= large_page) madvise(bytes_.get(), room, MADV_HUGEPAGE);
}

void FileBytes::Free::operator()(char* bytes) const {
  ::operator delete(bytes, std::align_val_t(large_page));
}

Result<FileBytes> read_bytes(const std::string& path) {
  if (path == "-") return read_stream(std::cin, "standard input", 0);
  std::error_code error;
  const auto status = fs::status(path, error);
  if (!fs::exists(status)) return fail(Errc::not_found, "{}: there is no such file", path);
  if (fs::is_directory(status)) return fail(Errc::invalid, "{}: is a folder; name a file", path);
  std::ifstream stream(path, std::ios::binary);
  if (!stream) return fail(Errc::invalid, "{}: cannot be opened; check its permissions", path);
  // What a pipe or a device will hold is not known.
  const auto size = fs::is_regular_file(status) ? fs::file_size(path, error) : 0;
  return read_stream(stream, path, error ? 0 : std::min(size, largest_file));
}

Result<std::string> read_file(const std::string& path) {
  const auto bytes = read_bytes(path);
  if (!bytes) return tl::unexpected(bytes.error());
  return std::string(bytes->view());
}

void write_file(const fs::path& path, std::string_view bytes) {
  write_file(path,
             [&](std::ostream& out) { out.write(bytes.data(), static_cast<std::streamsize>(bytes.size())); });
}

void write_file(const fs::path& path, const std::function<void(std::ostream&)>& write) {
  std::error_code none;
  if (fs::is_directory(path, none)) throw MachineFailed(path.string() + ": is a folder; name a file");
  if (path.has_parent_path()) {
    std::error_code error;
    fs::create_directories(path.parent_path(), error);
    if (error) throw MachineFailed(path.parent_path().string() + ": " + error.message());
  }
  if (!is_replaced(path)) {
    if (!filled(path, write)) cannot_write(path);
    return;
  }
  const fs::path target = without_links(path), beside = target.string() + ".part";
  std::error_code error, ignored;
  if (!filled(beside, write)) {
    fs::remove(beside, ignored);
    cannot_write(path);
  }
  fs::rename(beside, target, error);
  if (error) {
    fs::remove(beside, ignored);
    throw MachineFailed(path.string() + ": " + error.message());
  }
}

Result<std::vector<fs::path>> files_below(const fs::path& folder, std::string_view suffix) {
  if (!fs::is_directory(folder)) return fail(Errc::not_found, "{}: there is no such folder", folder.string());
  std::vector<fs::path> found;
  for (const auto& entry : fs::recursive_directory_iterator(folder))
    if (entry.is_regular_file() && entry.path().string().ends_with(suffix)) found.push_back(entry.path());
  std::ranges::sort(found);
  return found;
}

}  // namespace evenhand::cli
