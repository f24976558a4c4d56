// Runs files, or every file of folders, through a fuzz target without a fuzzer.
//   fuzz_<name> PATH...
// Fails when a path is missing or a folder holds no file: a corpus that is not found
// must not look like one that passes.

#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

bool replay(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(file), {}};
  if (!file) {
    std::fprintf(stderr, "%s: cannot be read\n", path.c_str());
    return false;
  }
  // A copy of exactly that size, so that a sanitizer sees a read past the end.
  const std::vector<std::uint8_t> exact(bytes.begin(), bytes.end());
  LLVMFuzzerTestOneInput(exact.data(), exact.size());
  return true;
}

// The number of files replayed; 0 is a failure.
int replay_all(const std::filesystem::path& path) {
  if (!std::filesystem::is_directory(path)) return replay(path) ? 1 : 0;
  int files = 0;
  for (const auto& entry : std::filesystem::directory_iterator(path)) {
    if (!entry.is_regular_file()) continue;
    if (!replay(entry.path())) return 0;
    ++files;
  }
  if (files == 0) std::fprintf(stderr, "%s: no files\n", path.c_str());
  return files;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    std::fprintf(stderr, "usage: %s PATH...\n", argv[0]);
    return 2;
  }
  for (int i = 1; i < argc; ++i) {
    const int files = replay_all(argv[i]);
    if (files == 0) return 1;
    std::printf("%s: %d replayed\n", argv[i], files);
  }
  return 0;
}
