#include <filesystem>
#include <fstream>
#include <regex>
#include <stdexcept>

#include <catch2/catch.hpp>

#include "server/assets.hpp"
#include "server/compress.hpp"
#include "server/support.hpp"
#include "server/web_names.hpp"

using namespace evenhand;
using namespace evenhand::server;

namespace {

std::string replaced(const std::string& name, const std::string& text) {
  return with_addresses(name, text,
                        [](const std::string& other) -> Result<std::string> { return "/a/" + other; })
      .value();
}

Assets of(std::vector<AssetFile> files) { return Assets::of(std::move(files)).value(); }

}  // namespace

TEST_CASE("modules name each other by address, whatever the form of the import") {
  CHECK(replaced("js/a.js", "import { x } from './b.js';\n") == "import { x } from '/a/js/b.js';\n");
  CHECK(replaced("js/a.js", "import * as b from \"../lib/b.js\"\n") ==
        "import * as b from \"/a/lib/b.js\"\n");
  CHECK(replaced("js/a.js", "import './b.js';") == "import '/a/js/b.js';");
  CHECK(replaced("js/a.js", "export { x } from './b.js';") == "export { x } from '/a/js/b.js';");
  CHECK(replaced("js/a.js", "import {\n  x,\n  y,\n} from './b.js';\n") ==
        "import {\n  x,\n  y,\n} from '/a/js/b.js';\n");
  CHECK(replaced("js/a.js", "  const b = await import('./b.js');") ==
        "  const b = await import('/a/js/b.js');");
}

TEST_CASE("what only looks like an import is left alone") {
  for (const char* line : {" * @typedef {import('./b.js').State} State\n", "// import { x } from './b.js';\n",
                           "const text = './b.js';\n", "import { x } from 'node:fs';\n",
                           "  /** @type {import('./b.js').X} */\n"})
    CHECK(replaced("js/a.js", line) == line);
}

TEST_CASE("styles name pictures by address") {
  CHECK(replaced("css/a.css", "a { background: url(../icons/x.svg); }") ==
        "a { background: url(/a/icons/x.svg); }");
  CHECK(replaced("css/a.css", "@import url(\"b.css\");") == "@import url(\"/a/css/b.css\");");
  CHECK(replaced("css/a.css", "a { background: url(data:image/png;base64,xx); }") ==
        "a { background: url(data:image/png;base64,xx); }");
}

TEST_CASE("a file's address changes with it, and with what it names") {
  const auto with = [](const std::string& inner) {
    return of({{"js/a.js", "import './b.js';\n"}, {"js/b.js", inner}, {"js/c.js", "// alone\n"}});
  };
  const auto first = with("1;\n"), second = with("2;\n");
  CHECK(first.url("js/b.js") != second.url("js/b.js"));
  CHECK(first.url("js/a.js") != second.url("js/a.js"));
  CHECK(first.url("js/c.js") == second.url("js/c.js"));
  CHECK(std::regex_match(first.url("js/a.js"), std::regex("/a/js/a\\.[0-9a-f]{12}\\.js")));
  Request request;
  request.path = first.url("js/a.js");
  CHECK(first.serve(request).body == "import '" + first.url("js/b.js") + "';\n");
  CHECK(second.serve(request).status == 404);
}

TEST_CASE("templates are read and not served") {
  const auto assets = of({{"page/x.html", "<p>"}, {"css/a.css", "a{}"}});
  CHECK(assets.text("page/x.html") == "<p>");
  CHECK_THROWS_AS(assets.url("page/x.html"), std::runtime_error);
  CHECK_THROWS_AS(assets.text("page/y.html"), std::runtime_error);
}

TEST_CASE("files that name what is not there, or each other in a circle, are refused by name") {
  const auto fault = [](std::vector<AssetFile> files) {
    return Assets::of(std::move(files)).error().message;
  };
  CHECK(fault({{"js/a.js", "import './b.js';\n"}}) == "js/a.js: js/b.js: no such file");
  CHECK(fault({{"js/a.js", "import './b.js';\n"}, {"js/b.js", "import './a.js';\n"}}).find("in a circle") !=
        std::string::npos);
  CHECK(fault({{"js/a.js", "import '../../b.js';\n"}}).find("leads out of the folder") != std::string::npos);
}

TEST_CASE("no module of the site has an import left that a browser could not follow") {
  const auto assets = of(asset_files());
  const std::regex relative(R"((^|\n)(import|export)\b[^'";\n]*['"]\.{1,2}/|\n\}\s*from\s*['"]\.)");
  std::size_t modules = 0;
  for (const auto& file : asset_files()) {
    if (!file.name.ends_with(".js") || file.name == "js/sw.js") continue;
    Request request;
    request.path = assets.url(file.name);
    const auto served = assets.serve(request);
    INFO(file.name);
    ++modules;
    CHECK_FALSE(std::regex_search(served.body, relative));
  }
  CHECK(modules >= 10);
}

TEST_CASE("a folder is read anew each time, and addresses of before go on working") {
  test::House house;
  const auto folder = house.path("web");
  std::filesystem::create_directories(folder + "/css");
  std::ofstream(folder + "/css/a.css") << "a{}";
  const auto assets = Assets::in_folder(folder).value();
  const auto before = assets.url("css/a.css");
  std::ofstream(folder + "/css/a.css") << "b{}";
  CHECK(assets.url("css/a.css") != before);
  Request request;
  request.path = before;
  CHECK(assets.serve(request).body == "a{}");
  CHECK_FALSE(Assets::in_folder(folder + "/none"));
}

TEST_CASE("the best encoding that a browser takes is chosen") {
  CHECK(best_encoding("gzip, deflate, br, zstd") == Encoding::brotli);
  CHECK(best_encoding("gzip") == Encoding::gzip);
  CHECK(best_encoding("br;q=0.5, gzip") == Encoding::brotli);
  CHECK(best_encoding("br;q=0, gzip;q=0.1") == Encoding::gzip);
  CHECK(best_encoding("gzip;q=0.000") == Encoding::none);
  CHECK(best_encoding("deflate, brr, xgzip") == Encoding::none);
  CHECK(best_encoding("") == Encoding::none);
}
