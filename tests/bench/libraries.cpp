// The floor for resident memory: the daemon's libraries, initialised and at rest. Says "ready" and
// sleeps until it is terminated.
//   libraries HTTP_PORT
#include <argon2.h>
#include <curl/curl.h>
#include <gmime/gmime.h>
#include <libical/ical.h>
#include <microhttpd.h>
#include <mqtt/async_client.h>
#include <simdjson.h>
#include <spdlog/sinks/stdout_sinks.h>
#include <spdlog/spdlog.h>
#include <sqlite3.h>
#include <systemd/sd-daemon.h>
#include <yaml-cpp/yaml.h>

#include "bench.h"

namespace {

MHD_Result answer(void*, MHD_Connection*, const char*, const char*, const char*, const char*,
                  std::size_t*, void**) {
  return MHD_NO;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 64;
  curl_global_init(CURL_GLOBAL_DEFAULT);
  CURL* curl = curl_easy_init();
  g_mime_init();
  spdlog::set_default_logger(spdlog::stderr_logger_mt("bench"));
  sd_notify(0, "READY=1");
  simdjson::dom::parser json;
  const bool parsed = json.parse(std::string_view("{\"outer\":37.5}")).error() == simdjson::SUCCESS;
  const YAML::Node document = YAML::Load("site: Saltmere\npatterns: [{ topic: a/b }]\n");
  const sockaddr_in address = bench::loopback(std::atoi(argv[1]));
  MHD_Daemon* web = MHD_start_daemon(MHD_USE_EPOLL, 0, nullptr, nullptr, &answer, nullptr,
                                     MHD_OPTION_SOCK_ADDR, &address, MHD_OPTION_END);
  mqtt::async_client client("tcp://127.0.0.1:1883", "bench-libraries", mqtt::create_options(5));
  sqlite3* database = nullptr;
  const bool opened =
      sqlite3_open(":memory:", &database) == SQLITE_OK &&
      sqlite3_exec(database, "CREATE TABLE t(a)", nullptr, nullptr, nullptr) == SQLITE_OK;
  icalcomponent* calendar = icalcomponent_new_vcalendar();
  const bool hashes = argon2_type2string(Argon2_id, 0) != nullptr;
  if (!opened || calendar == nullptr || !hashes) return 1;
  if (!parsed || curl == nullptr || web == nullptr || !document.IsMap()) return 1;
  spdlog::info("initialised");
  std::puts("ready");
  std::fflush(stdout);
  for (;;) ::pause();
}
